"""Which step of effort to take: the lowest in range, or a lower one that misses by less than anybody feels."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimiser.documents.plan_writer import plan_document
from optimiser.files.job_reader import read_job
from optimiser.jobs.ladder import Advice, LadderStep, recommended, steps_of
from optimiser.jobs.plan import plan_job
from optimiser.jobs.planned import Planned
from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.band_result import BandVerdict, band_result
from optimiser.model.goal import Goal, Role, Window
from optimiser.model.ladder import LadderRung
from optimiser.model.stock import Stock
from optimiser.model.taken import Taken
from optimiser.model.ways import folded
from optimiser.report.finding import FindingKind
from optimiser.report.ladder_text import LadderView, advice_text, effort_lines
from optimiser.report.plan_sheet import said, sheet_of
from optimiser.report.unit_system import UnitSystem
from tests.helpers import toy
from tests.helpers.counts import thorough_only
from tests.helpers.known_plans import KnownPlans
from tests.helpers.paths import STIFF_SHOP

START = toy.stack((20, 0.2), (18, 0.2), (9, 0.3))
PHYSICS = toy.ToyPhysics()
BEFORE = PHYSICS.forces(PHYSICS.packed(START), 0)


def goal() -> Goal:
    """Three velocities by 10 % within 2 %, three held within 2 %."""
    return toy.goal(PHYSICS, START, desired=BEFORE * 1.1, tolerance=np.full(6, 0.02), targets=3)


def step(changes: int, *, target: float, held: float = 0.0) -> LadderStep:
    """A rung whose best moves target and held band by so much; in range when it meets the goal."""
    forces = BEFORE * np.where(np.arange(6) < 3, 1 + target, 1 + held)
    new = toy.stack((20, 0.2), *[(18, 0.2)] * (1 + changes), (9, 0.3))
    shelf = Stock({toy.key(18, 0.2): 4})
    one: Candidate = rank.candidate(old=START, new=new, setting=0, forces=forces, goal=goal(), stock=shelf)
    met = one.misfit == 0
    ideas = folded([one], old=START, present=0) if met else ()
    rung = LadderRung(changes, ideas, None if met else one, True)
    (found,) = steps_of([rung], goal(), old=START, stock=shelf)
    return found


def test_the_lowest_step_in_range_is_the_one_to_take() -> None:
    steps = [step(1, target=0.05), step(2, target=0.09), step(3, target=0.10)]
    found = recommended(steps)
    assert found is not None
    assert (found.step.rung.changes, found.advice) == (2, Advice.IN_RANGE)


@pytest.mark.parametrize(("newtons", "near"), [(1.9, True), (2.1, False)])
def test_a_lower_step_that_misses_by_less_than_two_newtons_is_near_enough(newtons: float, near: bool) -> None:
    """8 % at least are wanted, of forces so small that two newtons are more than one per cent."""
    largest = BEFORE[:3].max()
    assert newtons / largest > 0.01
    low = step(1, target=0.08 - newtons / largest)
    assert low.worst is not None
    assert low.worst[1].missed_force == pytest.approx(newtons)
    found = recommended([low, step(2, target=0.10)])
    assert found is not None
    assert (found.step is low) is near
    assert (found.advice is Advice.NEAR_ENOUGH) is near


@pytest.mark.parametrize(("share", "felt"), [(0.009, False), (0.011, True)])
def test_of_large_forces_one_per_cent_is_not_felt(share: float, felt: bool) -> None:
    window = Window("big", Role.HOLD, (0.1, 0.2), (5e3, 5e3), (4.9e3, 4.9e3), (5e3, 5e3), (5.1e3, 5.1e3))
    result = band_result(window, [5.1e3 + share * 5e3, 5e3])
    assert result.missed_force == pytest.approx(share * 5e3)
    assert result.felt is felt


def test_a_held_band_that_moves_so_that_it_is_felt_spoils_a_step() -> None:
    found = recommended([step(1, target=0.10, held=0.05), step(2, target=0.10)])
    assert found is not None
    assert found.step.rung.changes == 2


def test_nothing_is_recommended_where_nothing_is_near() -> None:
    assert recommended([step(1, target=0.02), step(2, target=0.04)]) is None
    assert recommended([]) is None


def test_a_step_names_its_worst_band_what_moves_most_elsewhere_and_what_it_takes_from_the_shelf() -> None:
    found = step(2, target=0.05, held=0.015)
    assert found.worst is not None
    assert found.worst[0].name == "low"
    assert found.worst[1].missed_by == pytest.approx(0.03)
    assert found.elsewhere is not None
    assert found.elsewhere[1] == pytest.approx(0.015)
    assert found.verdict is BandVerdict.OUT_OF_RANGE
    assert found.from_shelf == (Taken(toy.key(18, 0.2), 2, 4),)


def test_a_step_that_comes_no_nearer_than_less_effort_says_so() -> None:
    steps = [step(1, target=0.05), step(2, target=0.04), step(3, target=0.10)]
    lines = effort_lines(LadderView(tuple(steps), ("one", "two", "three"), goal(), "main stack"))
    told = [line.partition("comes no nearer than ")[2] for line in lines]
    assert told == ["", "1 change.", ""]


def test_advice_to_miss_a_little_says_what_the_sheet_is_for() -> None:
    near, met = step(1, target=0.08 - 1e-4), step(2, target=0.10)
    one = advice_text(LadderView((near, met), ("one", "two"), goal(), ""), units=UnitSystem.METRIC)
    assert one is not None
    assert one.startswith("Near enough: one.")
    assert one.endswith("In range is 2 changes: two. The sheet is for what is in range.")
    alone = advice_text(LadderView((near,), ("one",), goal(), ""), units=UnitSystem.METRIC)
    assert alone is not None
    assert alone.endswith("Nothing that was tried is in range.")


@pytest.fixture
def first_story(known_plans: KnownPlans) -> Planned:
    return known_plans.of(STIFF_SHOP, "a_more_support")


@thorough_only("plans a whole job")
def test_the_first_story_shows_how_near_two_clicks_come(first_story: Planned) -> None:
    clicks, *higher = first_story.ladder
    assert first_story.turned(clicks.best) == {"low-speed compression": (6, 4)}
    assert clicks.verdict is BandVerdict.AT_THE_EDGE
    assert clicks.worst is not None
    assert clicks.worst[0].name == "square edges"
    assert clicks.worst[1].missed_by == pytest.approx(0.0012, abs=1e-4)
    assert [one.rung.in_range for one in higher] == [True, True]
    found = recommended(first_story.ladder)
    assert found is not None
    assert (found.step, found.advice) == (clicks, Advice.NEAR_ENOUGH)


def test_clicks_that_miss_by_less_than_a_rider_feels_are_the_answer_where_nothing_is_in_range() -> None:
    job = read_job(STIFF_SHOP / "jobs" / "a_more_support.toml")
    planned = plan_job(replace(job, work=replace(job.work, most_changes=0)))
    assert planned.outcome == "near enough"
    assert planned.shown is not None
    assert planned.turned(planned.shown) == {"low-speed compression": (6, 4)}
    sentence = said(planned)
    assert "misses it by less than a rider feels" in sentence
    assert "nearer than the one shown" not in sentence


@thorough_only("plans a whole job")
def test_every_listed_candidate_has_a_way_and_none_is_listed_twice(first_story: Planned) -> None:
    assert first_story.answer is not None
    ideas = [first_story.idea_of(one) for one in first_story.answer.candidates]
    assert None not in ideas
    names = [(len(idea.best.changes), idea.way) for idea in ideas if idea is not None]
    assert len(set(names)) == len(names)


@thorough_only("plans a whole job")
def test_what_is_folded_under_a_candidate_can_be_built_and_says_that_it_meets_the_goal(
    first_story: Planned,
) -> None:
    assert first_story.answer is not None
    folded_away = first_story.folded
    assert folded_away
    assert not set(folded_away) & set(first_story.answer.candidates)
    sheet = sheet_of(first_story, folded_away[0])
    assert sheet.finding.kind is FindingKind.SHIMS
    words = plan_document(first_story, said="", do_first=None, steps=[()] * 9, sheet=None)
    listed = len(words.candidates)
    assert [one.rank for one in words.folded] == list(range(listed + 1, listed + 1 + len(folded_away)))
    assert all(one.like is None or one.like <= listed for one in words.folded)
    assert any(one.like for one in words.folded)
