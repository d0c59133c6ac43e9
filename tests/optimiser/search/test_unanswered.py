"""What the model has no answer for is named, and nothing that rests on it is called proven."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest

from damping_model.errors import ConvergenceError
from damping_model.stack.packs import PackedStack
from optimiser.model import certificate as check
from optimiser.model.answer import Answer, Status
from optimiser.model.problem import Problem
from optimiser.model.stock import Stock
from optimiser.report.unanswered import unanswered_words
from optimiser.search import climb, solve, survey
from optimiser.studies.reach import reach
from tests.helpers import toy

START = toy.stack((20, 0.2), (18, 0.2), (16, 0.15), (10, 0.3))
SHELF = Stock({toy.key(18, 0.3): 1, toy.key(16, 0.2): 1, toy.key(18, 0.1): 1})
SETTINGS = ({"rebound": 4}, {"rebound": 5})


@dataclass
class SilentPhysics(toy.ToyPhysics):
    """The toy, without an answer at some settings and for stacks whose pack of 18 mm has some height."""

    silent_settings: frozenset[int] = frozenset()
    silent_height: float | None = None
    settings: tuple[dict[str, int], ...] = field(default=SETTINGS)

    def forces(self, plates: PackedStack, setting: int) -> toy.Floats:
        if setting in self.silent_settings or any(
            self.silent_height is not None
            and abs(pack.height - self.silent_height) < 1e-9
            and pack.outer_radius == pytest.approx(9e-3)
            for pack in plates.packs
        ):
            raise ConvergenceError("no equilibrium")
        return super().forces(plates, setting)


def problem(physics: toy.ToyPhysics, *, share: float) -> Problem:
    before = toy.ToyPhysics().forces(physics.packed(START), 0)
    goal = toy.goal(physics, START, desired=before * (1 + share), tolerance=np.full(before.size, 0.02))
    return Problem(physics=physics, stack=START, mounting=toy.MOUNTING, stock=SHELF, goal=goal)


def met_by(physics: toy.ToyPhysics, wanted: toy.Floats) -> Problem:
    """A problem whose every velocity is a target that some forces meet."""
    goal = toy.goal(physics, START, desired=wanted, tolerance=np.full(wanted.size, 0.02), targets=wanted.size)
    return Problem(physics=physics, stack=START, mounting=toy.MOUNTING, stock=SHELF, goal=goal)


def answered(physics: toy.ToyPhysics, *, share: float) -> tuple[Answer, Problem]:
    asked = problem(physics, share=share)
    answer = solve(asked, most_changes=1)
    assert check.faults(answer, asked) == ()
    return answer, asked


def test_a_setting_without_an_answer_is_named_and_impossible_is_not_claimed() -> None:
    assert answered(SilentPhysics(), share=0.6)[0].status is Status.PROVEN_IMPOSSIBLE
    answer, _ = answered(SilentPhysics(silent_settings=frozenset({1})), share=0.6)
    assert answer.status is Status.UNANSWERED
    assert answer.proven_too_few == -1
    assert answer.unanswered.settings == (1,)


def test_a_stack_without_an_answer_is_named_and_leaves_what_clicks_prove() -> None:
    answer, _ = answered(SilentPhysics(silent_height=0.3e-3), share=0.6)
    assert answer.status is Status.UNANSWERED
    assert answer.proven_too_few == 0
    assert not answer.nearest_proven
    assert any(toy.key(18, 0.3).shim in stack.shims for stack in answer.unanswered.stacks)


def test_a_change_that_meets_the_goal_is_not_the_fewest_while_a_click_has_no_answer() -> None:
    """The goal is what 18x0.10 instead of 18x0.20 gives."""
    plates = toy.ToyPhysics().packed(toy.stack((20, 0.2), (18, 0.1), (16, 0.15), (10, 0.3)))
    wanted = toy.ToyPhysics().forces(plates, 0)

    def asked_for(physics: SilentPhysics) -> Answer:
        answer = solve(met_by(physics, wanted), most_changes=1)
        assert check.faults(answer, met_by(physics, wanted)) == ()
        return answer

    silent = SilentPhysics(silent_settings=frozenset({1}))
    sure, unsure, asked = asked_for(SilentPhysics()), asked_for(silent), met_by(silent, wanted)
    assert sure.status is Status.PROVEN_LEAST
    assert unsure.candidates
    assert unsure.status is Status.UNANSWERED
    climbed, rungs = climb(asked, unsure, known=survey(asked, most_changes=1), wanted=10)
    assert climbed.status is Status.UNANSWERED
    assert not any(rung.closed for rung in rungs)


@pytest.mark.parametrize(
    "silent", [SilentPhysics(silent_settings=frozenset({1})), SilentPhysics(silent_height=0.3e-3)]
)
def test_no_end_of_the_reach_is_proven_while_something_has_no_answer(silent: SilentPhysics) -> None:
    sure = reach(problem(SilentPhysics(), share=0.1), most_changes=1)
    unsure = reach(problem(silent, share=0.1), most_changes=1)
    assert sure.proven
    assert not sure.unanswered
    assert not unsure.proven
    assert unsure.unanswered


def test_people_read_what_has_no_answer_and_what_that_means() -> None:
    answer, _ = answered(SilentPhysics(silent_settings=frozenset({1}), silent_height=0.3e-3), share=0.6)
    (words,) = unanswered_words(answer.unanswered, settings=SETTINGS, old=START)
    assert "the stack as it is at rebound 5 out" in words
    assert "18x0.30" in words
    assert "called proven" in words
    sure, _ = answered(SilentPhysics(), share=0.6)
    assert unanswered_words(sure.unanswered, settings=SETTINGS, old=START) == ()
