"""Sums that prove wrong are trusted less, and those that tell nothing are not used."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from damping_model.errors import ConvergenceError
from damping_model.stack.packs import PackedStack
from optimiser.model.goal import Goal
from optimiser.search.bounds.order_spread import OrderSpread
from optimiser.search.forecast import AgainstLimits
from optimiser.search.objective import BestFeasible
from optimiser.search.screen import additive_model, by_sums
from optimiser.search.screen.by_sums import BySums
from optimiser.search.space.family import root_families
from tests.helpers import toy
from tests.helpers.screened import go_by_sums
from tests.optimiser.search.screen.test_screen import Shelf, planted, shelf

__all__ = ["shelf"]

Floats = NDArray[np.float64]


def of_largest_shape(shelf: Shelf, goal_of: Callable[[Floats, np.random.Generator], Goal]) -> BySums:
    rng, physics = np.random.default_rng(12), shelf.problem.physics
    shape = max(shelf.kinds, key=lambda one: one.ways(2 - one.dropped, 2))
    stack = shelf.drawn(shape, rng)
    tree = shelf.tree(goal_of(physics.forces(physics.packed(stack), 0), rng))
    against = BestFeasible(tree.metrics, 1).against
    assert isinstance(against, AgainstLimits)
    return BySums(tree, [list(root_families(shape, 2))], against, cores=1, wait=lambda: None)


@pytest.fixture
def sums(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> BySums:
    """A stack is planted as the goal."""
    go_by_sums(monkeypatch)
    return of_largest_shape(shelf, lambda forces, rng: planted(shelf.problem.goal, forces, rng))


@pytest.fixture
def reached_by_many(shelf: Shelf, monkeypatch: pytest.MonkeyPatch) -> BySums:
    """Forces have to come within a tenth of a stack's, and those of many do."""
    go_by_sums(monkeypatch)
    problem = shelf.problem
    assert isinstance(problem.physics, toy.ToyPhysics)
    physics = problem.physics
    return of_largest_shape(
        shelf,
        lambda forces, _: toy.goal(
            physics, problem.stack, desired=forces, tolerance=np.full(forces.size, 0.1), targets=forces.size
        ),
    )


def widenings(sums: BySums) -> list[float]:
    return list(sums._widening.values())


def test_most_members_are_ruled_out_and_those_that_were_ruled_out_by_least_are_asked(sums: BySums) -> None:
    assert sums.rule_out()
    assert widenings(sums) == [1.0]
    assert sums.ruled_out > 20 * sums.evaluations
    assert list(sums.nearest(5))


def test_margins_are_doubled_until_none_of_those_just_ruled_out_meets_the_goal(
    reached_by_many: BySums, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(additive_model, "SAFETY", 0.01)
    monkeypatch.setattr(by_sums, "ROUNDS", 20)
    assert reached_by_many.rule_out()
    assert widenings(reached_by_many)[0] > 1


def test_margins_are_doubled_where_another_order_of_what_was_asked_may_meet_the_goal(sums: BySums) -> None:
    sums._tree._tests.spread = OrderSpread((3.0, 3.0), {})
    assert not sums.rule_out()
    assert widenings(sums)[0] > 1


def test_all_are_gone_through_however_many_are_remembered_besides(
    sums: BySums, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was ruled out by least is remembered; should that be all, no family is left unseen for it."""
    one = sums.families[0]
    sums.families = [[part for family in one for part in family.split()]]
    assert sums.rule_out()
    left, samples = sums._left, sums._samples
    assert sum(map(len, left.values()))
    monkeypatch.setattr(by_sums, "MOST_LEFT", 2 * sum(map(len, left.values())))
    sums._samples = {slots: replace(sample, near=np.inf) for slots, sample in samples.items()}
    assert sums._go_through()
    assert {slots: len(one) for slots, one in sums._left.items()} == {
        slots: len(one) for slots, one in left.items()
    }
    assert all(len(one) == by_sums.MOST_NEAREST for one in sums._nearest.values())


def test_what_the_model_has_no_answer_for_is_kept(sums: BySums, monkeypatch: pytest.MonkeyPatch) -> None:
    physics, asked = sums._tree.evaluator.physics, []

    def coarse(_: toy.ToyPhysics, plates: PackedStack, setting: int) -> Floats:
        asked.append(plates)
        if len(asked) % 10 == 0:
            raise ConvergenceError("no equilibrium")
        return physics.forces(plates, setting)

    monkeypatch.setattr(toy.ToyPhysics, "coarse_forces", coarse)
    assert sums.rule_out()
    assert len(asked) <= sums.evaluations
    by_screen = sum(len(one.unanswered) for one in sums.further)
    assert len(sums.unanswered) + by_screen == len(asked) // 10


def test_with_margins_that_never_hold_it_is_given_up(
    reached_by_many: BySums, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(additive_model, "SAFETY", 0.0)
    assert not reached_by_many.rule_out()


def test_with_too_few_that_are_known_it_is_given_up(sums: BySums, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("optimiser.search.screen.member_sample.LEAST_KNOWN", 10_000)
    assert not sums.rule_out()


def test_with_more_left_than_memory_is_for_it_is_given_up(
    sums: BySums, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(by_sums, "MOST_LEFT", 5)
    assert not sums.rule_out()
