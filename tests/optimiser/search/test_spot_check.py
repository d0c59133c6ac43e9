"""A proof whose bounds do not hold for a damper is found out by stacks that are drawn, and done anew."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.model import certificate as check
from optimiser.model.answer import Answer, Status
from optimiser.model.checked import Checked
from optimiser.model.problem import Problem
from optimiser.model.stock import Stock
from optimiser.report.finding import PlanFinding
from optimiser.search import iterative_deepening, solve
from optimiser.search.bounds.bound_test import BoundTests
from optimiser.search.bounds.node import Node
from tests.helpers import toy
from tests.helpers.counts import thorough_only

START = toy.stack((20, 0.2), (18, 0.2), (16, 0.15), (10, 0.3))
AWAY = toy.stack((20, 0.2), (18, 0.1), (16, 0.2), (10, 0.3))
SHELF = Stock({toy.key(outer, t): 2 for outer in (20, 18, 16, 14) for t in (0.1, 0.15, 0.2, 0.25, 0.3)})


def problem(share: float | None = None) -> Problem:
    """Every velocity wants what a stack two changes away gives, or a share of the force before."""
    physics = toy.ToyPhysics()
    before = physics.forces(physics.packed(START), 0)
    wanted = physics.forces(physics.packed(AWAY), 0) if share is None else share * before
    goal = toy.goal(physics, START, desired=wanted, tolerance=np.full(6, 0.02), targets=6)
    return toy.problem(physics, START, SHELF, goal)


def answer_of(asked: Problem) -> Answer:
    answer = solve(asked, most_changes=2)
    assert check.faults(answer, asked) == ()
    return answer


@pytest.fixture
def false_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Bounds that rule out stacks up to a third off, until they are widened; and no heuristic to help."""
    sound = BoundTests._slack

    def false(self: BoundTests, node: Node) -> tuple[float, float]:
        return sound(self, node) if self.spread.widening > 1 else (-0.5, -0.3)

    monkeypatch.setattr(BoundTests, "_slack", false)
    monkeypatch.setattr(iterative_deepening.IterativeDeepening, "_try_heuristic", lambda _: None)


def found(answer: Answer) -> list[tuple[int, float]]:
    return [(len(one.changes), one.target_error) for one in answer.candidates]


def test_a_stack_that_bounds_should_not_have_ruled_out_reopens_the_proof(
    request: pytest.FixtureRequest,
) -> None:
    sound = answer_of(problem())
    request.getfixturevalue("false_bounds")
    answer = answer_of(problem())
    assert found(answer)[0] == found(sound)[0]
    assert answer.status is sound.status is Status.PROVEN_LEAST
    assert answer.checked is not None
    assert answer.checked.reopened == 1


@thorough_only("the other half, that the check finds it, is tried in a quick run")
@pytest.mark.usefixtures("false_bounds")
def test_without_the_check_it_would_be_called_impossible(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        iterative_deepening, "spot_check", lambda *_, **__: (Checked(0, None, (0.0, 0.0), 0), [])
    )
    assert answer_of(problem()).status is Status.PROVEN_IMPOSSIBLE


def test_where_bounds_hold_it_says_how_many_were_drawn_and_how_near_they_came() -> None:
    answer = answer_of(problem(share=3.5))
    assert answer.status is Status.PROVEN_IMPOSSIBLE
    checked = answer.checked
    assert checked is not None
    assert checked.reopened == 0
    assert checked.drawn > 10
    assert checked.nearest is not None
    assert checked.nearest > 0
    assert answer.nearest is not None
    words = PlanFinding.of(answer, answer.nearest).sentence
    assert f"{checked.drawn} of the stacks that were ruled out were built in the model: none fits" in words


def test_clicks_alone_are_all_tried_and_need_no_such_check() -> None:
    physics = toy.ToyPhysics()
    before = physics.forces(physics.packed(START), 0)
    goal = toy.goal(physics, START, desired=before, tolerance=np.full(6, 0.05))
    answer = answer_of(toy.problem(physics, START, SHELF, goal))
    assert answer.checked is None
