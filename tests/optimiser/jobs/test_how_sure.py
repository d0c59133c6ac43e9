"""Every plan says how sure it is."""

from __future__ import annotations

from dataclasses import replace

import pytest

from optimiser.files.job_reader import read_job
from optimiser.jobs.how_sure import NOT_SAID, built, how_sure, known_of
from optimiser.jobs.planned import Planned
from optimiser.jobs.setup import set_up
from optimiser.model.stock import Stock
from optimiser.model.unmeasured import Unmeasured
from optimiser.unknowns.unknown import Owner
from tests.helpers.known_plans import KnownPlans
from tests.helpers.paths import DEMO

JOB = read_job(DEMO / "jobs" / "b_clicks_do.toml")


@pytest.fixture
def plan(known_plans: KnownPlans) -> Planned:
    return known_plans.of(DEMO, "b_clicks_do")


def test_every_candidate_and_every_step_of_effort_says_how_sure_it_is(plan: Planned) -> None:
    assert plan.answer is not None
    shown = [*plan.answer.candidates, *(step.best for step in plan.ladder)]
    assert all(plan.sure.of(one) is not None for one in shown)
    assert plan.surest in plan.answer.candidates


def test_the_same_plan_says_the_same_again(plan: Planned) -> None:
    assert plan.answer is not None
    again = how_sure(set_up(JOB), plan.answer.candidates[:1], should_stop=lambda: False)
    assert again.of(plan.answer.candidates[0]) == plan.sure.of(plan.answer.candidates[0])


def test_figures_that_nobody_measured_make_every_interval_wider(plan: Planned) -> None:
    assert plan.answer is not None
    one = plan.answer.candidates[0]
    noted = (Unmeasured("needle", 0.6, "low-speed compression", "area"),)
    guessed = replace(JOB, damper=replace(JOB.damper, not_measured=noted))
    now, less = plan.sure.of(one), how_sure(set_up(guessed), [one], should_stop=lambda: False).of(one)
    assert now is not None
    assert less is not None
    assert less.bands[0].high - less.bands[0].low > 1.5 * (now.bands[0].high - now.bands[0].low)
    assert less.chance < now.chance


def test_who_stops_waiting_is_told_nothing_of_it(plan: Planned) -> None:
    assert plan.answer is not None
    assert how_sure(set_up(JOB), plan.answer.candidates, should_stop=lambda: True) is NOT_SAID
    assert how_sure(set_up(JOB), [], should_stop=lambda: False) is NOT_SAID
    assert NOT_SAID.of(plan.answer.candidates[0]) is None
    assert built(plan.answer.candidates[0]).stack == plan.answer.candidates[0].stack


def test_shims_that_a_micrometer_has_read_have_no_tolerance_of_their_strip() -> None:
    setup = set_up(JOB)
    key, *_ = setup.stock.counts
    read = key._replace(thickness=key.thickness + 3)
    measured = Stock({read: 2}, nominal={read: key})
    nominal, real = (
        known_of(replace(setup, job=replace(JOB, stock=stock))).unknowns for stock in (JOB.stock, measured)
    )
    assert any(one.owner is Owner.SHIMS_OF_THE_SHELF for one in nominal)
    assert not any(one.owner is Owner.SHIMS_OF_THE_SHELF for one in real)
