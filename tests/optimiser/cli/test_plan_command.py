"""The main job as a tuner types it: stories (a), (b) and (d) of the stiff shop."""

import json
from pathlib import Path

import click
import pytest

from optimiser.cli import cli
from optimiser.documents.plan import PlanDocument
from optimiser.files.job_reader import read_job
from optimiser.model.stock import ShimKey
from tests.helpers.command_line import Seen, Typed
from tests.helpers.counts import thorough_only

pytestmark = pytest.mark.usefixtures("plans_once")


def planned_json(typed: Typed, job: str) -> tuple[Seen, PlanDocument]:
    seen = typed("plan", f"jobs/{job}.toml", "--json")
    return seen, PlanDocument.model_validate_json(seen.out)


@thorough_only("searches long; README does it in a quick run")
def test_story_a_lists_at_least_three_buildable_stacks_that_keep_every_window(
    shop: Path, typed: Typed
) -> None:
    seen, plan = planned_json(typed, "a_more_support")
    assert seen.code == 0
    assert plan.outcome == "shims"
    assert plan.status == "proven least"
    assert plan.proven_too_few == plan.candidates[0].number_of_changes - 1
    assert len(plan.candidates) >= 3
    stock = read_job(shop / "jobs" / "a_more_support.toml").stock
    for candidate in plan.candidates:
        assert all(band.within for band in candidate.bands)
        assert candidate.misfit == 0
        assert candidate.steps
        for shim in candidate.changes.put_in:
            key = ShimKey.from_millimetres(
                outer=shim.outer_diameter_mm, thickness=shim.thickness_mm, inner=shim.inner_diameter_mm
            )
            in_the_damper = sum(
                out.count
                for out in candidate.changes.out
                if out.model_dump() == {**shim.model_dump(), "count": out.count}
            )
            assert shim.count <= stock.count(key) + in_the_damper
    sheet = (shop / "jobs" / "a_more_support.html").read_text(encoding="utf-8")
    assert sheet.startswith("<!doctype html>")
    assert "OUT</b>" not in sheet  # one shim comes and none leaves, so no dashes are promised
    assert "As it is</figcaption>" in sheet
    assert plan.sheet == "jobs/a_more_support.html"


@thorough_only("the demo has a story of clicks that a quick run plans")
def test_story_b_turns_a_clicker_and_opens_nothing(shop: Path, typed: Typed) -> None:
    seen, plan = planned_json(typed, "b_clicks_do")
    assert seen.code == 0
    assert plan.outcome == "clicks"
    best = plan.candidates[0]
    assert best.number_of_changes == 0
    assert best.stack == planned_json(typed, "b_clicks_do")[1].candidates[0].stack
    assert best.adjusters == {"low-speed compression": 8}
    text = typed("plan", "jobs/b_clicks_do.toml").out
    assert "The adjusters alone reach the goal" in text
    assert "2 clicks out (open)" in text
    assert text.endswith("Open it in a browser, print it, take it to the bench.\n")


def test_what_nobody_measured_is_named_on_the_terminal_and_on_the_sheet(shop: Path, typed: Typed) -> None:
    seen = " ".join(typed("plan", "jobs/b_clicks_do.toml").out.split())
    said = "Unchecked, since nobody measured it: sag (front, rear); tyre pressure (front, rear);"
    assert said in seen
    assert said in (shop / "jobs" / "b_clicks_do.html").read_text(encoding="utf-8")


def test_the_terminal_names_the_oil_s_warmth_and_no_more_of_the_sag_than_a_tape_shows(
    shop: Path, typed: Typed
) -> None:
    seen = " ".join(typed("plan", "jobs/b_clicks_do.toml").out.split())
    assert "all forces at 40 °C." in seen
    assert "at 35 mm of sag" in seen


@thorough_only("plans twice, each time a ladder")
def test_a_plan_ends_with_the_line_that_reserves_its_shims(shop: Path, typed: Typed) -> None:
    plan = ("plan", "jobs/a_more_support.toml", "--pick", "2")
    assert typed(*plan).out.endswith(
        "To reserve its shims: shimwright build jobs/a_more_support.toml --pick 2\n"
    )
    assert typed(*plan, "--changes", "1").out.endswith(
        "To reserve its shims: shimwright build jobs/a_more_support.toml --changes 1 --pick 2\n"
    )


def test_the_sheet_of_a_goal_that_is_not_met_is_not_sent_to_the_bench(shop: Path, typed: Typed) -> None:
    seen = typed("plan", "jobs/d_out_of_reach.toml", "--changes", "0")
    assert seen.code == 3
    assert "take it to the bench" not in seen.out
    assert seen.out.endswith("build nothing from it without the rider's word.\n")


@thorough_only("proves two changes impossible")
def test_story_d_says_that_the_shelf_cannot_and_shows_the_nearest(shop: Path, typed: Typed) -> None:
    job = shop / "jobs" / "d_out_of_reach.toml"
    text = job.read_text(encoding="utf-8")
    job.write_text(text.replace("most_changes = 2", "most_changes = 1"), encoding="utf-8")
    seen, plan = planned_json(typed, "d_out_of_reach")
    assert seen.code == 3
    assert plan.outcome == "cannot be reached"
    assert plan.status == "proven impossible"
    assert plan.proven_too_few == 1
    assert plan.effort.stacks_checked > 1000
    assert plan.candidates == []
    assert plan.nearest is not None
    assert plan.nearest.misfit > 0
    assert plan.nearest_proven


def test_a_time_limit_gives_what_stands_and_never_says_impossible(shop: Path, typed: Typed) -> None:
    seen = typed("plan", "jobs/d_out_of_reach.toml", "--json", "--time-limit", "0.1")
    plan = json.loads(seen.out)
    assert seen.code == 3
    assert plan["status"] == "best so far"
    assert plan["outcome"] == "nothing found"
    assert "Proven" not in plan["said"]


def test_wrong_sag_stops_with_a_code_of_its_own_and_a_reason_goes_on(shop: Path, typed: Typed) -> None:
    seen = typed("plan", "jobs/c_sag_first.toml")
    assert seen.code == 4
    assert "Basics first" in seen.out
    assert seen.out.count("Set the spring") == 1
    assert "\n\n\n" not in seen.out
    assert not (shop / "jobs" / "c_sag_first.html").exists()


@thorough_only("plans twice; other commands try the units")
def test_imperial_units_change_what_people_read_and_not_what_programs_read(shop: Path, typed: Typed) -> None:
    text = typed("plan", "jobs/b_clicks_do.toml", "--units", "imperial").out
    assert "lbf" in text
    assert "in/s" in text
    plain = typed("plan", "jobs/b_clicks_do.toml", "--json").out
    assert typed("plan", "jobs/b_clicks_do.toml", "--json", "--units", "imperial").out == plain


@pytest.mark.parametrize("pick", ["0", "99"])
def test_a_candidate_that_is_not_there_is_refused(pick: str, shop: Path, typed: Typed) -> None:
    seen = typed("plan", "jobs/b_clicks_do.toml", "--pick", pick)
    assert seen.code == 2


def test_the_command_line_names_every_command() -> None:
    assert set(cli.list_commands(click.Context(cli))) >= {"plan", "curve", "demo", "schema"}
