"""The pages of a shop: what they show, and that their forms do what the command line does."""

from __future__ import annotations

import html
import re
import time
import tomllib
from pathlib import Path

import pytest

from optimiser.bench.doors import VisitorRole
from optimiser.bench.search_folder import SearchAsked, seen_of
from optimiser.bench.search_process import search
from optimiser.files.job_reader import read_job
from optimiser.ledger.connection import Ledger
from optimiser.ledger.levels import shelf_levels
from tests.helpers.bench_client import BenchClient
from tests.helpers.counts import thorough_only, tries

SPECIAL = {"/doors/leave"}


def test_every_link_of_every_page_leads_to_a_page_without_style_inside_that_is_light(
    worker: BenchClient,
) -> None:
    worker.post("/stock/begin", {"shelf": "shelf.csv"})
    first = [
        "/record",
        "/doors",
        "/counter",
        "/dampers/tarn_shock",
        "/jobs/g_too_coarse",
        "/dampers",
        "/stock",
        "/",
    ]
    waiting = first
    seen: set[str] = set()
    while waiting and len(seen) < tries(quick=8, thorough=300):
        path = waiting.pop()
        if path in seen:
            continue
        seen.add(path)
        page = worker.get(path)
        assert page.status == 200, path
        assert len(page.text.encode()) < 500_000, path
        assert not re.search(r"<[^>]+\sstyle=|<style|<script>|\son\w+=", page.text), path
        assert not re.search(r"(?:src|href|action)=\"(?:https?:)?//", page.text), (
            f"{path} leads off this machine"
        )
        waiting[:0] = [html.unescape(one) for one in re.findall(r"<a [^>]*href=\"(/[^\"#]*)", page.text)]
    assert {
        "/",
        "/stock",
        "/dampers/tarn_shock",
        "/jobs/g_too_coarse",
        "/counter",
        "/record",
        "/doors",
    } <= seen


def test_pages_without_physics_answer_within_a_tenth_of_a_second(worker: BenchClient) -> None:
    worker.post("/stock/begin", {"shelf": "shelf.csv"})
    for path in ("/", "/stock", "/record", "/doors", "/counter"):
        worker.get(path)
        begun = time.process_time()
        for _ in range(3):
            worker.get(path)
        assert (time.process_time() - begun) / 3 < 0.1, path


def test_the_answer_to_a_job_that_stops_at_its_basics_says_what_to_put_right(worker: BenchClient) -> None:
    job = worker.shop / "jobs" / "c_sag_first.toml"
    asked, folder = SearchAsked(job=job, seen=seen_of(job)), worker.searches.of("c_sag_first")
    folder.begin(asked)
    search(folder, asked)
    page = worker.get("/jobs/c_sag_first/answer")
    assert page.status == 200
    assert "Basics first: Set the spring to 17.0 bar" in page.text
    assert '<li class="stop"><b>sag, rear</b>: 57 mm, 41 % of travel' in page.text
    day = worker.get("/").text
    assert "See the answer" in day
    row = day[day.index('href="/jobs/c_sag_first') : day.index("See the answer")]
    assert '<b class="stage">answered</b>' in row
    assert "to plan" not in row


def test_how_pages_look_is_sent_once_to_a_browser_that_keeps_it(worker: BenchClient) -> None:
    for path in ("/bench.css", "/bench.js", "/bench.svg"):
        first = worker.get(path)
        again = worker.get(path, if_none_match=first.header("etag"))
        assert (first.status, again.status, again.text) == (200, 304, "")
        assert worker.get(path, if_none_match='"another"').text == first.text


def test_the_stock_is_found_by_type_and_by_drawer_and_says_in_its_own_words_what_is_missing(
    worker: BenchClient,
) -> None:
    worker.post("/stock/begin", {"shelf": "shelf.csv"})

    def found(asked: str) -> set[str]:
        return set(re.findall(r'<th scope="row">([^<]+)<', worker.get(f"/stock?find={asked}").text))

    assert found("16x") == {"16x0.10", "16x0.15", "16x0.20"}
    assert found("b2") == {"16x0.10", "16x0.15", "16x0.20"}, "of the drawer B2"
    assert found("99") == set()
    assert len(found("")) > 30
    unclear = worker.post("/stock/move", {"do": "scrap", "kind": "12x0.10", "number": "1"})
    assert unclear.status == 422
    assert "with a hole of 6, 8 mm. Say which under &#39;Hole in mm&#39;" in unclear.text


def test_the_stock_comes_goes_and_is_counted_and_the_record_takes_it_back(worker: BenchClient) -> None:
    assert "The books begin with shelf.csv" in worker.followed("/stock/begin", {"shelf": "shelf.csv"}).text
    received = {"do": "receive", "kind": "20x0.10", "number": "3", "reason": "invoice 12", "once": "one-time"}

    def free() -> int:
        with Ledger.look(worker.shop) as ledger:
            return next(level.free for level in shelf_levels(ledger) if str(level.key) == "20x0.10")

    before = free()
    assert "3 received" in worker.followed("/stock/move", received).text
    assert "already" in worker.followed("/stock/move", received).text, "a form sent twice counts once"
    assert free() == before + 3
    assert (
        "−" in worker.followed("/stock/move", {"do": "count", "kind": "20x0.10", "number": "1"}).text
        or free() == 1
    )
    assert worker.post("/stock/move", {"do": "scrap", "kind": "20x0.10", "number": "99"}).status == 409
    step = max(map(int, re.findall(r'name="step" value="(\d+)"', worker.get("/record").text)))
    assert f"Step {step} is taken back" in worker.followed("/record/undo", {"step": str(step)}).text
    assert free() == before + 3


def test_a_goal_that_is_typed_is_in_the_job_s_file_and_a_wrong_one_is_not(worker: BenchClient) -> None:
    place = worker.shop / "jobs" / "a_more_support.toml"
    goal = {
        "target0-name": "low-speed support", "target0-stroke": "compression", "target0-low": "0,05",
        "target0-high": "0.13", "target0-shift": "12", "target0-tolerance": "4", "hold0-name": "square edges",
        "hold0-stroke": "compression", "hold0-low": "0.7", "hold0-high": "1.2", "hold0-tolerance": "2.5",
        "changes": "1",
    }  # fmt: skip
    assert "The goal is in the job&#39;s file" in worker.followed("/jobs/a_more_support/goal", goal).text
    job = read_job(place)
    (target,), (hold,) = job.asked.targets, job.asked.holds
    assert (target.low, target.high, target.shift, target.tolerance) == (0.05, 0.13, 0.12, 0.04)
    assert (hold.tolerance, job.work.most_changes) == (0.025, 1)
    kept = place.read_text(encoding="utf-8")
    assert kept.startswith("# Story (a)"), "comments stay"
    assert tomllib.loads(kept)["work"]["candidates"] == 4
    for wrong in ({"target0-low": "abc"}, {"target0-high": "0.01"}, {"target0-name": ""}, {"changes": "9"}):
        assert worker.post("/jobs/a_more_support/goal", goal | wrong).status == 422, wrong
    assert place.read_text(encoding="utf-8") == kept


def test_a_job_in_words_shows_its_bands_in_the_form(worker: BenchClient) -> None:
    page = worker.get("/jobs/c_sag_first").text
    assert 'name="target0-name" value="wallows in long turns' in page
    assert "in place of the rider" in page


def test_what_if_answers_as_the_command_does(worker: BenchClient) -> None:
    page = worker.get("/jobs/a_more_support/what-if?try=out+20x0.10&part=answer")
    assert page.status == 200
    assert "20x0.10 out" in page.text
    assert "−7.4 %" in page.text, "what 'shimwright compare --try \"out 20x0.10\"' prints"
    assert "<html" not in page.text, "the script asks for the answer alone"
    begun = time.process_time()
    for shim in ("19x0.10", "18x0.10", "17x0.10"):
        assert worker.get(f"/jobs/a_more_support/what-if?try=out+{shim}&part=answer").status == 200
    assert (time.process_time() - begun) / 3 < 0.2
    clicks = worker.get("/jobs/a_more_support/what-if?click+low-speed+compression=0&part=answer").text
    assert "low-speed compression 0 out" in clicks
    for wrong in ("try=out+99x9", "try=rubbish", "click+rebound=400", "try=20x0.10"):
        assert worker.get(f"/jobs/a_more_support/what-if?{wrong}").status == 200, wrong
    assert "Cannot be built" in worker.get("/jobs/a_more_support/what-if?try=20x0.10").text


def test_the_counter_shows_files_by_their_names_and_keeps_the_way_to_them(worker: BenchClient) -> None:
    worker.post("/counter/new", {"name": "named"})
    asked = worker.followed("/counter/named/answer", {"key": "title", "answer": "Sinks"}).text
    assert re.search(r'value="\.\./riders/ines\.toml"[^>]*>ines</button>', asked)
    said = worker.followed("/counter/named/answer", {"key": "rider", "answer": "../riders/ines.toml"}).text
    assert "<b>ines</b>" in said
    assert "../riders/" not in said
    worker.post("/counter/named/drop", {})


@thorough_only("an intake is gone through whole")
def test_the_counter_keeps_each_answer_says_what_the_basics_say_and_writes_the_job(
    worker: BenchClient,
) -> None:
    worker.post("/counter/new", {"name": "mine"})
    said = {
        "title": "Sinks", "rider": "../riders/ines.toml", "bike": "../bikes/oxlip_trail.toml",
        "damper": "../dampers/tarn_shock.toml", "shelf": "../shelf.csv",
    }  # fmt: skip
    for key, answer in said.items():
        assert worker.post("/counter/mine/answer", {"key": key, "answer": answer}).status == 303, key
    refused = worker.post("/counter/mine/answer", {"key": "sag front", "answer": "much"})
    assert refused.status == 422
    assert "much" in refused.text, "what was typed is still there"
    worker.post("/counter/mine/answer", {"key": "sag front", "answer": "20 %", "do": "answer"})
    for _ in range(3):
        worker.post("/counter/mine/answer", {"key": _next(worker), "do": "skip"})
    deep = worker.followed("/counter/mine/answer", {"key": "sag rear", "answer": "60 %"}).text
    assert "Put this right first" in deep
    again = worker.followed("/counter/mine/answer", {"key": "sag rear", "answer": "15 mm shaft"}).text
    assert "Put this right first" not in again
    rest = {"symptom": "wallows in long turns", "shift": "8", "stack": "compression stack"}
    for _ in range(20):
        key = _next(worker)
        if not key:
            break
        worker.post(
            "/counter/mine/answer", {"key": key, **({"answer": rest[key]} if key in rest else {"do": "skip"})}
        )
    assert not (worker.shop / "jobs" / "mine.toml").exists()
    assert "The job is written" in worker.followed("/counter/mine/write", {}).text
    job = read_job(worker.shop / "jobs" / "mine.toml")
    assert job.title == "Sinks"
    assert worker.get("/counter/mine").status == 404


def _next(client: BenchClient) -> str:
    found = re.search(r'name="key" value="([^"]+)"', client.get("/counter/mine").text)
    return "" if found is None else html.unescape(found[1])


def test_an_intake_begun_at_the_command_line_goes_on_at_the_counter(worker: BenchClient) -> None:
    (worker.shop / "jobs" / ".begun.toml.answers").write_text('title = "Begun elsewhere"\n', encoding="utf-8")
    page = worker.get("/counter/begun").text
    assert "Begun elsewhere" in page
    assert "Whose machine is it?" in page


def test_another_browser_is_let_in_by_a_key_that_the_page_makes(worker: BenchClient) -> None:
    page = worker.post("/doors/key", {"role": "looks on"})
    key = re.search(r"/enter/([\w-]+)</code>", page.text)
    assert key is not None
    assert "<path" in page.text, "and as a code for a camera"
    other = BenchClient.__new__(BenchClient)
    other.__dict__ |= worker.__dict__ | {"cookie": ""}
    entered = other.post("/enter", {"key": key[1]})
    other.cookie = entered.header("set-cookie").partition(";")[0]
    assert "you look on" in other.get("/").text


def test_the_shares_of_the_valves_make_the_whole_force(worker: BenchClient) -> None:
    page = worker.get("/dampers/tarn_shock").text
    table = page[page.index("Share of the damping force") : page.index("What is in it")]
    rows = [
        [int(one.replace("−", "-")) for one in re.findall(r">(−?\d+) %<", row)]
        for row in table.split("<tr>")[2:]
    ]
    assert len(rows) >= 2
    assert [abs(sum(column) - 100) <= len(rows) for column in zip(*rows, strict=True)] == [True] * 6


@pytest.mark.parametrize("words", ["", " ", "x" * 2001])
def test_a_ride_without_words_or_with_too_many_is_not_written(worker: BenchClient, words: str) -> None:
    worker.post("/stock/begin", {"shelf": "shelf.csv"})
    assert worker.post("/jobs/a_more_support/ride", {"words": words}).status == 422


def test_a_search_is_asked_for_once_and_is_taken_out_of_the_line_again(shop: Path) -> None:
    client = BenchClient(shop).come_in(
        VisitorRole.WORKS
    )  # nobody works on its searches, so they stay in line
    client.post("/jobs/a_more_support/search", {"seconds": "30"})
    again = client.followed("/jobs/a_more_support/search", {"seconds": "30"})
    assert "searched for already" in again.text
    assert "Stop, and keep what stands" in again.text
    assert "stopped before it found anything" in client.followed("/jobs/a_more_support/stop", {}).text
    folder = client.searches.of("a_more_support")
    assert folder.asked() == SearchAsked(
        job=shop / "jobs" / "a_more_support.toml",
        seconds=30.0,
        seen=seen_of(shop / "jobs" / "a_more_support.toml"),
    )
