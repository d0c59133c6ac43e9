"""What the wheel does in words: felt differences are told, others are called none, units follow the reader."""

from __future__ import annotations

import dataclasses
from typing import cast

import pytest

from optimiser.files.job_reader import read_job
from optimiser.jobs.ride_job import JobRide, RiddenStep, ride_job
from optimiser.model.answer import Candidate
from optimiser.report.ride_drawing import travel_svg, travel_text
from optimiser.report.ride_text import (
    NOT_FELT,
    after_lines,
    before_words,
    event_head,
    rests_on,
    summary_lines,
)
from optimiser.report.unit_system import UnitSystem
from tests.helpers.paths import ROOT


@pytest.fixture(scope="module")
def ridden() -> JobRide:
    """The damper as it is, and the same called a step of effort."""
    job = read_job(ROOT / "inventory_demo" / "jobs" / "h_motocross.toml")
    return ride_job(job, [job.rides.event("landing", kind="motocross")])


def _with_step(ridden: JobRide, *, deeper: float) -> JobRide:
    """A step of effort after which the landing goes so much deeper [m]."""
    event = ridden.events[0]
    figures = dataclasses.replace(event.before.figures, deepest=event.before.figures.deepest + deeper)
    after = dataclasses.replace(event.before, figures=figures)
    step = RiddenStep(1, cast("Candidate", None))  # words ask for its changes alone
    moved = dataclasses.replace(event, after=(after,), judged_by="travel used")
    return dataclasses.replace(ridden, events=(moved,), steps=(step,))


def test_a_felt_difference_is_told_with_what_it_was_of(ridden: JobRide) -> None:
    less = _with_step(ridden, deeper=-0.004)
    used = less.events[0].before.figures.used
    line = next(iter(after_lines(less, less.events[0], units=UnitSystem.METRIC)))
    assert line == f"1 change: uses 4 mm less of {1000 * used:.0f} mm"
    assert list(summary_lines(less)) == ["1 change: felt in landing."]


def test_what_nobody_feels_is_called_so_with_the_figure_it_is_judged_by(ridden: JobRide) -> None:
    same = _with_step(ridden, deeper=-0.0004)
    used = 1000 * same.events[0].before.figures.used
    line = next(iter(after_lines(same, same.events[0], units=UnitSystem.METRIC)))
    assert line == f"1 change: {NOT_FELT} (uses {used - 0.4:.1f} mm instead of {used:.1f} mm)"
    assert list(summary_lines(same)) == [f"1 change: felt nowhere; landing: {NOT_FELT}."]


def test_figures_that_read_the_same_are_not_set_against_one_another(ridden: JobRide) -> None:
    same = _with_step(ridden, deeper=-0.000001)
    line = next(iter(after_lines(same, same.events[0], units=UnitSystem.METRIC)))
    used = 1000 * same.events[0].before.figures.used
    assert line == f"1 change: {NOT_FELT} (uses {used:.1f} mm as before)"


@pytest.mark.parametrize(("story", "words"), [("i_fork_dives", "dives "), ("h_motocross", "uses ")])
def test_only_a_front_dives_when_it_brakes(story: str, words: str) -> None:
    job = read_job(ROOT / "inventory_demo" / "jobs" / f"{story}.toml")
    (event,) = ride_job(job, [job.rides.event("braking into a corner", kind=job.machine.kind)]).events
    assert before_words(event, units=UnitSystem.METRIC).startswith(f"Now: {words}")


def test_units_follow_the_reader(ridden: JobRide) -> None:
    event = ridden.events[0]
    assert event_head(event.event, units=UnitSystem.METRIC) == "landing (900 mm high)"
    assert event_head(event.event, units=UnitSystem.IMPERIAL) == "landing (35.4 in high)"
    assert " mm" not in before_words(event, units=UnitSystem.IMPERIAL)


def test_what_was_taken_as_usual_stands_below(ridden: JobRide) -> None:
    words = " ".join(rests_on(ridden))
    assert "tyre rate rear (± 35 %)" in words
    assert "common practice without a source" in words


def test_the_picture_has_its_event_and_both_dampers(ridden: JobRide) -> None:
    both = _with_step(ridden, deeper=-0.004)
    drawn = str(travel_svg(both, both.events[0], units=UnitSystem.METRIC, place=0))
    assert "as it is" in drawn
    assert "1 change" in drawn
    text = travel_text(both, both.events[0], units=UnitSystem.METRIC, width=80)
    assert "#  1 change" in text
    assert max(map(len, text.splitlines())) <= 80
