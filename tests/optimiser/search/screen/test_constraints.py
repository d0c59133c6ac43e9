"""Constraints on logarithms of forces are the goal's windows, and sums of two of them."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.search.forecast import AgainstLimits, Forecast
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objective import BestFeasible
from optimiser.search.screen.constraints import Constraints
from tests.helpers import toy

PHYSICS = toy.ToyPhysics()
START = toy.stack((20, 0.2), (20, 0.2), (18, 0.15), (15, 0.1), (9, 0.3))
FORCES = PHYSICS.forces(PHYSICS.packed(START), 0)
SIZE = FORCES.size


def against(tolerance: float) -> AgainstLimits:
    goal = toy.goal(PHYSICS, START, desired=1.1 * FORCES, tolerance=np.full(SIZE, tolerance))
    found = BestFeasible(GoalMetrics(goal), 1).against
    assert isinstance(found, AgainstLimits)
    return found


def logs_about(count: int, spread: float) -> np.ndarray:
    return np.log(1.1 * FORCES) + np.random.default_rng(2).uniform(-spread, spread, (count, SIZE))


def test_what_is_exceeded_most_by_a_known_force_is_what_the_forecast_says() -> None:
    one, logs = against(0.05), logs_about(200, 0.2)
    singles = Constraints.of(one).violations(logs)[:, : 2 * SIZE]
    said = one.beyond(Forecast(logs, np.zeros_like(logs)))
    assert singles.max(axis=1) == pytest.approx(said)


def test_a_ratio_says_nothing_new_of_a_known_force() -> None:
    """A sum of two violations is at most twice the larger one, and kept where both are."""
    violations = Constraints.of(against(0.05)).violations(logs_about(500, 0.2))
    singles, ratios = violations[:, : 2 * SIZE].max(axis=1), violations[:, 2 * SIZE :].max(axis=1)
    assert (ratios <= 2 * singles + 1e-12).all()
    assert (ratios[singles <= 0] <= 1e-12).all()
    assert (singles <= 0).any() or (ratios > 0).any()


def test_a_force_that_is_too_steep_violates_a_ratio_by_what_the_windows_do_not_take_up() -> None:
    one, logs = against(0.05), np.log(1.1 * FORCES)
    logs[-1] += 0.3
    room = (
        np.log(one.limits.upper[-1] / np.exp(logs[-1])) - np.log(one.limits.lower / np.exp(logs))[:-1].max()
    )
    assert Constraints.of(one).violations(logs)[2 * SIZE :].max() == pytest.approx(-room)
    assert -room > 0.05


def test_a_window_without_an_end_gives_no_constraint() -> None:
    one = against(0.05)
    lower = one.limits.lower.copy()
    lower[0] = 0.0
    limits = type(one.limits)(lower, one.limits.upper, one.limits.least, one.limits.most)
    assert len(Constraints.of(AgainstLimits(one.metrics, limits)).ends) == 2 * SIZE - 1 + (SIZE - 1) ** 2
