"""A wish that all limits hold in most dampers built like this, from the option to the words."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner

from optimiser.cli import cli
from optimiser.documents.sure import confidence_document
from optimiser.files.job_reader import read_job
from optimiser.jobs.confidence import Confidence
from optimiser.jobs.plan import plan_job
from optimiser.jobs.planned import Planned
from optimiser.jobs.variant import Variant, command_line
from optimiser.jobs.varied import varied
from optimiser.report.confidence_text import confidence_words
from tests.helpers.counts import thorough_only
from tests.helpers.known_plans import KnownPlans
from tests.helpers.paths import DEMO


@cache
def planned(story: str, level: float, changes: int | None = None) -> Planned:
    job = read_job(DEMO / "jobs" / f"{story}.toml")
    return plan_job(varied(job, Variant(confidence=level, most_changes=changes)))


@thorough_only("searches with a chance; the search itself is tried on small dampers")
def test_clicks_that_are_sure_enough_need_no_shim() -> None:
    plan = planned("b_clicks_do", 0.9)
    assert plan.answer is not None
    assert plan.confidence is not None
    assert plan.confidence.reached
    assert plan.confidence.changes == 0
    assert not plan.answer.candidates[0].changes
    (said,) = confidence_words(plan)
    assert said.startswith(
        "Asked for: all limits hold in 90 of 100 dampers built like this. Clickers only will do"
    )
    assert "On 8192 fresh draws they hold in over 99 of 100." in said


def test_what_was_not_reached_names_the_surest_and_what_would_help(known_plans: KnownPlans) -> None:
    plan = known_plans.of(DEMO, "b_clicks_do")
    assert plan.answer is not None
    lacking = Confidence(0.99, False, None, True, 12, plan.answer.candidates[-1])
    asked, surest, help_ = confidence_words(replace(plan, confidence=lacking))
    assert "Nothing within 2 changes was found that does (proven, judged by one sample" in asked
    assert "12 stacks or settings" in asked
    assert surest.startswith("The surest found: ")
    assert help_.startswith("What would make it surer, most first: the ")
    document = confidence_document(lacking)
    assert document is not None
    assert (document.asked, document.reached, document.number_of_changes) == (0.99, False, None)


def test_without_the_wish_nothing_is_said_of_it(known_plans: KnownPlans) -> None:
    assert list(confidence_words(known_plans.of(DEMO, "b_clicks_do"))) == []
    assert confidence_document(None) is None


def test_the_wish_is_typed_again_with_the_rest() -> None:
    line = command_line("plan", Path("jobs/x.toml"), Variant(confidence=0.9))
    assert line == "shimwright plan jobs/x.toml --confidence 0.9"


@pytest.mark.parametrize("level", ["0", "1", "90", "most"])
def test_a_chance_that_nothing_can_have_is_refused(level: str) -> None:
    result = CliRunner().invoke(cli, ["plan", str(DEMO / "jobs" / "b_clicks_do.toml"), "--confidence", level])
    assert result.exit_code == 2
    assert "--confidence" in result.output


def test_a_folder_of_jobs_has_no_one_wish() -> None:
    result = CliRunner().invoke(cli, ["plan", str(DEMO / "jobs"), "--confidence", "0.9"])
    assert "--confidence: got the folder" in str(result.exception)


@thorough_only("draws every stack that meets the goal again")
def test_a_surer_stack_is_found_with_as_few_changes_and_the_unsure_are_counted() -> None:
    plan = planned("f_another_frame", 0.9)
    assert plan.answer is not None
    assert plan.confidence is not None
    assert plan.confidence.reached
    assert plan.confidence.proven
    assert plan.confidence.unsure > 0
    first = plan.sure.of(plan.answer.candidates[0])
    assert first is not None
    assert first.chance > 0.89


@thorough_only("draws every stack that meets the goal again")
def test_where_nothing_has_the_chance_the_plan_stays_and_says_so() -> None:
    plan = planned("h_motocross", 0.9, 1)
    assert plan.answer is not None
    assert plan.answer.candidates
    assert plan.confidence is not None
    assert (plan.confidence.reached, plan.confidence.changes) == (False, None)
    assert plan.confidence.surest is not None
