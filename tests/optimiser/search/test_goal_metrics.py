"""Averages in bounds: what a family's bounds say of its mean holds for each of its members."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.model import rank
from optimiser.model.goal import Goal
from optimiser.search.goal_metrics import GoalMetrics
from tests.helpers import toy
from tests.helpers.counts import tries


def goal(rng: np.random.Generator) -> Goal:
    physics = toy.ToyPhysics()
    start = toy.random_stack(rng, 8)
    before = physics.forces(physics.packed(start), 0)
    shift = rng.choice([-1, 1]) * rng.uniform(0.04, 0.15)
    return toy.averaged(
        toy.goal(physics, start, desired=before * (1 + shift), tolerance=np.full(6, rng.uniform(0.01, 0.03)))
    )


def test_no_member_between_the_bounds_of_a_pruned_family_meets_the_goal() -> None:
    """2,000 random bounds, 400 in a quick run, with members drawn between them."""
    rng = np.random.default_rng(3)
    pruned = 0
    for _ in range(tries(quick=400, thorough=2000)):
        asked = goal(rng)
        metrics = GoalMetrics(asked)
        middle = asked.desired * np.exp(rng.normal(0, 0.06) + rng.normal(0, 0.02, 6))
        low, high = middle * rng.uniform(0.93, 1.0, 6), middle * rng.uniform(1.0, 1.07, 6)
        if metrics.surely_outside(low, high, metrics.limits_within(np.inf)):
            pruned += 1
            members = rng.uniform(low, high, (20, 6))
            assert all(rank.misfit(asked, member) > 0 for member in members)
    assert pruned > 50


def test_forces_that_reach_every_threshold_of_one_side_prune() -> None:
    """A bound test asks for nothing that would be of no use: with all answers, the family is pruned."""
    rng = np.random.default_rng(4)
    none, every = np.full(6, -np.inf), np.full(6, np.inf)
    for _ in range(100):
        metrics = GoalMetrics(goal(rng))
        limits = metrics.limits_within(np.inf)
        soft = metrics.desired * np.exp(rng.normal(0, 0.1, 6))
        stiff = soft * rng.uniform(1.0, 1.3, 6)
        lower, upper = metrics.thresholds(limits, soft, stiff, none, every)
        low, high = none.copy(), every.copy()
        low[:3] = upper[:3]
        assert metrics.surely_outside(low, every, limits)
        high[:3] = lower[:3]
        assert metrics.surely_outside(none, high, limits)


def test_what_is_known_already_is_not_asked_again() -> None:
    """Thresholds of an average go down elsewhere where a bound lies higher than they did."""
    rng = np.random.default_rng(6)
    metrics = GoalMetrics(goal(rng))
    limits = metrics.limits_within(np.inf)
    soft = stiff = metrics.desired
    none, every = np.full(6, -np.inf), np.full(6, np.inf)
    _, upper = metrics.thresholds(limits, soft, stiff, none, every)
    low = none.copy()
    low[0] = upper[0] * 1.01
    _, less = metrics.thresholds(limits, soft, stiff, low, every)
    assert less[0] == pytest.approx(low[0])
    assert (less[1:3] < upper[1:3]).all()
    assert (less[3:] == upper[3:]).all()


def test_metrics_agree_with_the_rank_that_judges_answers() -> None:
    rng = np.random.default_rng(7)
    for _ in range(200):
        asked = goal(rng)
        metrics, forces = GoalMetrics(asked), asked.desired * np.exp(rng.normal(0, 0.05, 6))
        assert metrics.misfit(forces) == pytest.approx(rank.misfit(asked, forces), abs=1e-12)
        assert metrics.target_error(forces) == pytest.approx(rank.target_error(asked, forces), abs=1e-12)
