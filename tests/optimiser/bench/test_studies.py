"""How far bands go, and what to buy: worked out in the background, shown as the commands print it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from optimiser.bench.search_folder import SearchAsked, seen_of
from optimiser.bench.search_process import study
from optimiser.bench.searches import Searches, Work
from optimiser.bench.study_folder import StudyAsked
from optimiser.bench.work_folder import SearchState, WorkKind
from optimiser.documents.reach import ReachDocument
from optimiser.documents.shop import ShopDocument
from optimiser.report.plain_reach import plain_reach_svg
from optimiser.report.unit_system import UnitSystem
from tests.helpers.bench_client import BenchClient


def _studied(worker: BenchClient, kind: WorkKind, job: str, *, most: int, catalogue: str = "") -> str:
    path = worker.shop / "jobs" / f"{job}.toml"
    folder = worker.searches.study(kind, job)
    asked = StudyAsked(job=path, most=most, seconds=20, catalogue=catalogue, seen=seen_of(path))
    folder.begin(asked)
    study(kind, folder, asked)
    assert folder.state is SearchState.DONE, folder.fault
    return folder.result()


def test_the_reach_is_drawn_on_the_goal_and_listed_on_its_page_until_the_goal_changes(
    worker: BenchClient,
) -> None:
    found = ReachDocument.model_validate_json(_studied(worker, WorkKind.REACH, "a_more_support", most=0))
    page = worker.get("/jobs/a_more_support/reach").text
    assert "+4.7 %" in page, "what 'shimwright reach --changes 0' prints"
    assert "low-speed compression 0 out" in page
    assert found.status == "proven"
    assert "Proven: nothing that was allowed goes further." in page
    assert 'class="force reach"' in page
    assert 'class="force reach"' in worker.get("/jobs/a_more_support").text
    job = worker.shop / "jobs" / "a_more_support.toml"
    job.write_text(job.read_text(encoding="utf-8") + "\n# other\n", encoding="utf-8")
    assert "The job's file has changed since" in worker.get("/jobs/a_more_support/reach").text.replace(
        "&#39;", "'"
    )
    assert 'class="force reach"' not in worker.get("/jobs/a_more_support").text


def test_the_drawing_of_a_reach_says_what_is_proven_by_shape_and_in_words(worker: BenchClient) -> None:
    text = _studied(worker, WorkKind.REACH, "a_more_support", most=0)
    proven = plain_reach_svg(ReachDocument.model_validate_json(text), units=UnitSystem.METRIC, name="r")
    plain = json.loads(text)
    plain["bands"][0]["extents"][0]["most"]["proven"] = False
    plain["bands"][0]["name"] = "<script>"
    open_end = plain_reach_svg(ReachDocument.model_validate(plain), units=UnitSystem.METRIC, name="r")
    assert open_end.count('class="cap open"') == proven.count('class="cap open"') + 1
    assert "+4.7 %, not proven" in open_end
    assert "<script>" not in open_end
    assert "style" not in open_end


def test_a_purchase_is_listed_with_its_cost_and_drawn(worker: BenchClient) -> None:
    catalogue = str(worker.shop / "catalogue.csv")
    found = ShopDocument.model_validate_json(
        _studied(worker, WorkKind.PURCHASE, "g_too_coarse", most=1, catalogue=catalogue)
    )
    page = worker.get("/jobs/g_too_coarse/buy").text
    assert found.said in page
    assert "Buy 1 of 15x0.25: it makes the goal reachable, with 1 change." in page, (
        "as 'shimwright shop' says"
    )
    assert "1 of 15x0.25 (1 pack, K26)" in page
    assert "1.15" in page
    assert "proven that no stack with at most 1 change reaches the goal" in page


def test_a_spoiled_result_and_a_fault_are_told_beside_the_form_that_asks_again(worker: BenchClient) -> None:
    for kind, place in ((WorkKind.REACH, "reach"), (WorkKind.PURCHASE, "buy")):
        folder = worker.searches.study(kind, "a_more_support")
        folder.begin(StudyAsked(job=worker.shop / "jobs" / "a_more_support.toml", most=1, seconds=5))
        folder.fail("Basics first: <b>pump</b> the tyre.")
        assert "Basics first: &lt;b&gt;pump" in worker.get(f"/jobs/a_more_support/{place}").text
        folder.keep('{"format": "something else"}')
        page = worker.get(f"/jobs/a_more_support/{place}").text
        assert "cannot be read. Ask again; that writes it anew." in page
        assert f'action="/jobs/a_more_support/{place}/ask"' in page
        assert worker.get("/jobs/a_more_support").status == 200


def test_a_study_is_asked_once_waits_in_the_line_of_searches_and_is_taken_out_again(
    worker: BenchClient,
) -> None:
    worker.post("/jobs/a_more_support/search", {"seconds": "30"})
    worker.post("/jobs/a_more_support/reach/ask", {"changes": "1", "seconds": "5"})
    again = worker.followed("/jobs/a_more_support/reach/ask", {"changes": "1", "seconds": "5"})
    assert "being worked out already" in again.text
    assert "waits for 2 other searches" in again.text
    assert json.loads(worker.get("/jobs/a_more_support/reach/now").text)["done"] is False
    assert "stopped before it began" in worker.followed("/jobs/a_more_support/reach/stop", {}).text
    assert worker.searches.standing("a_more_support") is not None, "the search of the same job goes on"


@pytest.mark.parametrize(
    ("place", "form"),
    [
        ("reach", {"changes": "9", "seconds": "5"}),
        ("reach", {"changes": "1"}),
        ("buy", {"catalogue": "../shelf.csv", "types": "1", "seconds": "9"}),
        ("buy", {"catalogue": "catalogue.csv", "types": "3", "seconds": "9"}),
        ("buy", {"catalogue": "catalogue.csv", "types": "1", "seconds": "99999"}),
    ],
)
def test_a_study_with_odd_figures_is_refused_and_nothing_is_written(
    worker: BenchClient, place: str, form: dict[str, str]
) -> None:
    assert worker.post(f"/jobs/a_more_support/{place}/ask", form).status == 422
    assert not any((worker.shop / kind.value).exists() for kind in WorkKind)


def test_what_a_server_left_unfinished_is_done_by_the_next_one(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, done = shop / "jobs" / "a_more_support.toml", list[Work]()
    before = Searches(shop)
    before.study(WorkKind.REACH, "a_more_support").begin(StudyAsked(job=path, most=1, seconds=5))
    before.of("a_more_support").begin(SearchAsked(job=path))
    stopped = before.study(WorkKind.PURCHASE, "a_more_support")
    stopped.begin(StudyAsked(job=path, most=1, seconds=5))
    stopped.stop()
    after = Searches(shop)

    def run(work: Work) -> None:
        done.append(work)
        if len(done) == 2:
            after.close()

    monkeypatch.setattr(after, "_run", run)
    after.start()
    after._thread.join(timeout=20)
    assert done == [(WorkKind.SEARCH, "a_more_support"), (WorkKind.REACH, "a_more_support")]
