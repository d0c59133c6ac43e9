"""One shelf for the day's jobs: shown as the command shares it out, reserved whole or not at all."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner

from optimiser.batch.job_to_sheet import SheetedJob
from optimiser.bench.doors import VisitorRole
from optimiser.bench.search_folder import SearchAsked, seen_of
from optimiser.cli.share_out_command import command
from optimiser.ledger.builds import open_build
from optimiser.ledger.connection import Ledger
from optimiser.report.unit_system import UnitSystem
from tests.helpers.bench_client import BenchClient
from tests.helpers.known_plans import KnownPlans
from tests.helpers.ledger_shop import files_of
from tests.helpers.paths import DEMO

JOBS = ("a_more_support", "i_fork_dives")


@pytest.fixture
def planned(worker: BenchClient, known_plans: KnownPlans) -> BenchClient:
    """A shop with books, in which two jobs have an answer."""
    worker.post("/stock/begin", {"shelf": "shelf.csv"})
    for name in JOBS:
        found = known_plans.of(DEMO, name)
        done = SheetedJob(planned=found, candidate=None, sheet=None, place=None, units=UnitSystem.METRIC)
        path, folder = worker.shop / "jobs" / f"{name}.toml", worker.searches.of(name)
        folder.begin(SearchAsked(job=path, seen=seen_of(path)))
        plan = done.document()
        folder.keep(
            plan, sheets={one.rank: f"sheet {one.rank} of {name}" for one in plan.candidates}, drawn={}
        )
    return worker


def _picks(page: str) -> str:
    return page.partition('name="picks" value="')[2].partition('"')[0]


def _open(client: BenchClient) -> dict[str, int]:
    with Ledger.look(client.shop) as ledger:
        found = {name: open_build(ledger, name) for name in JOBS}
    return {name: build.pick for name, build in found.items() if build is not None}


def test_what_is_shown_is_reserved_in_one_step_with_its_sheets(planned: BenchClient) -> None:
    page = planned.get("/share-out").text
    assert "2 of 2 jobs that a stack serves, proven the best." in page
    shown = dict(one.split("=") for one in _picks(page).split("/"))
    assert set(shown) == set(JOBS)
    after = planned.followed("/share-out/reserve", {"picks": _picks(page)}).text
    assert "Reserved for 2 jobs, all of it." in after
    assert _open(planned) == {name: int(pick) for name, pick in shown.items()}
    for name, pick in shown.items():
        assert planned.get(f"/jobs/{name}/sheet/{pick}").text == f"sheet {pick} of {name}"
        kept = (planned.shop / "jobs" / f"{name}.html").read_text(encoding="utf-8")
        assert kept == f"sheet {pick} of {name}"
    assert "No job waits with an answer" in planned.get("/share-out").text
    assert "puts its shims back" in after, "and how it is taken back is told"
    planned.post(f"/jobs/{JOBS[0]}/release", {})
    assert set(_open(planned)) == {JOBS[1]}


def test_a_second_form_and_one_of_an_old_page_reserve_nothing(planned: BenchClient) -> None:
    page = planned.get("/share-out").text
    old = "/".join(f"{name}=1" for name in JOBS) + "x"
    assert "has changed since" in planned.followed("/share-out/reserve", {"picks": old}).text
    assert _open(planned) == {}
    planned.post("/share-out/reserve", {"picks": _picks(page)})
    before = files_of(planned.shop)
    assert planned.post("/share-out/reserve", {"picks": _picks(page)}).status == 422
    assert files_of(planned.shop) == before


def test_a_job_that_lacks_a_shim_is_left_out_and_the_purchase_is_told(planned: BenchClient) -> None:
    planned.post("/stock/move", {"do": "count", "kind": "13x0.15", "hole": "8", "number": "0"})
    query = "/share-out?pin+a_more_support=1&catalogue=catalogue.csv"
    page = planned.get(query).text
    assert "not served: candidate 1 needs 1 of 13x0.15, hole 8, 0 left" in page
    assert "No purchase from this catalogue serves all of them." in page
    with (planned.shop / "catalogue.csv").open("a", encoding="utf-8") as catalogue:
        catalogue.write("13,0.15,8,1.00,5,Z1\n")
    page = planned.get(query).text
    assert "To serve all of them buy 1 pack of 5 13x0.15, hole 8 (Z1), 5.00" in page
    picks = _picks(page)
    assert set(dict(one.split("=") for one in picks.split("/"))) == {"i_fork_dives"}
    planned.post("/share-out/reserve", {"picks": picks, "pin a_more_support": "1"})
    assert set(_open(planned)) == {"i_fork_dives"}


def test_an_answer_that_is_older_than_its_job_is_left_out(planned: BenchClient) -> None:
    path = planned.shop / "jobs" / "i_fork_dives.toml"
    path.write_text(path.read_text(encoding="utf-8") + "\n# later\n", encoding="utf-8")
    assert "1 of 1 jobs" in planned.get("/share-out").text


@pytest.mark.parametrize(
    "wrong",
    [
        {"pin a_more_support": "99"}, {"pin a_more_support": "x"}, {"pin a_more_support": "\u0661"},
        {"due i_fork_dives": "soon"}, {"catalogue": "../shelf.csv"},
    ],
)  # fmt: skip
def test_odd_wishes_are_refused(planned: BenchClient, wrong: dict[str, str]) -> None:
    picks = _picks(planned.get("/share-out").text)
    assert planned.post("/share-out/reserve", {"picks": picks, **wrong}).status == 422
    assert _open(planned) == {}


def test_a_guest_sees_the_day_shared_out_and_reserves_nothing(planned: BenchClient) -> None:
    guest = BenchClient(planned.shop).come_in(VisitorRole.LOOKS_ON)
    page = guest.get("/share-out").text
    assert "2 of 2 jobs" in page
    assert '<form method="post"' not in page
    assert guest.post("/share-out/reserve", {"picks": "a_more_support=1"}).status == 403


def test_the_page_chooses_what_the_command_chooses(planned: BenchClient) -> None:
    for name in JOBS:
        kept = planned.searches.of(name).plan().model_copy(update={"folded": []})
        place = planned.shop / "jobs" / f"{name}.json"
        place.write_text(kept.model_dump_json(), encoding="utf-8")
    said = CliRunner().invoke(command, [str(planned.shop / "jobs"), "--shop", str(planned.shop), "--json"])
    chosen = {one["job"]: one["pick"] for one in json.loads(said.output)["jobs"]}
    shown = dict(one.split("=") for one in _picks(planned.get("/share-out").text).split("/"))
    assert chosen == {name: int(pick) for name, pick in shown.items()}
