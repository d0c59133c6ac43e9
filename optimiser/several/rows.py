"""Bounds of many forces at once, held against the windows of a goal."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from optimiser.model.goal import LEAST_FORCE, Goal, Role
from optimiser.model.rank import role_mask
from optimiser.search.goal_metrics import GoalMetrics, Limits

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


def surely_outside(metrics: GoalMetrics, limits: Limits, low: Floats, high: Floats) -> Flags:
    """Which of some forces surely miss a limit (rows,).

    Parameters
    ----------
    metrics, limits : of the goal.
    low, high : below and above the forces, infinite where nothing is known (rows, velocities). [N]
    """
    outside = ((high < limits.lower) | (low > limits.upper)).any(axis=1)
    if metrics.averaged:
        with np.errstate(divide="ignore"):
            least = metrics.means(np.log(np.maximum(low, 0.0)))
        most = metrics.means(np.log(np.maximum(high, LEAST_FORCE)))
        outside |= ((least > limits.most) | (most < limits.least)).any(axis=1)
    return np.asarray(outside)


def misfits(metrics: GoalMetrics, forces: Floats) -> Floats:
    """Distance from the windows at the worst velocity or average, in half-widths; 0 inside (rows,). [-]"""
    off = np.maximum(metrics.lower - forces, forces - metrics.upper) / metrics.half_width
    worst = np.maximum(off.max(axis=1, initial=0.0), 0.0)
    if metrics.averaged:
        means = metrics.means(np.log(np.maximum(forces, LEAST_FORCE)))
        beyond = np.maximum(metrics.least - means, means - metrics.most) / metrics.mean_half_width
        worst = np.maximum(worst, beyond.max(axis=1))
    return np.asarray(worst)


class TargetErrors:
    """Distances of many forces from a goal's target.

    Parameters
    ----------
    goal, metrics : what is asked, and figures of it.
    """

    def __init__(self, goal: Goal, metrics: GoalMetrics) -> None:
        self._metrics = metrics
        self._mask = metrics.target
        self._scale = np.maximum(np.abs(metrics.desired[self._mask]), LEAST_FORCE)
        targets = role_mask(goal, Role.TARGET)
        self._averaged = np.array([targets[part.start] for part in metrics.averaged], dtype=bool)

    def least(self, low: Floats, high: Floats) -> Floats:
        """No force between bounds comes closer than this, as a share of the force wanted (rows,). [-]

        Parameters
        ----------
        low, high : below and above the forces (rows, velocities). [N]
        """
        metrics, mask = self._metrics, self._mask
        desired = metrics.desired[mask]
        off = np.maximum(low[:, mask] - desired, desired - high[:, mask]) / self._scale
        worst = np.maximum(off.max(axis=1, initial=0.0), 0.0)
        if self._averaged.any():
            with np.errstate(divide="ignore"):
                least = metrics.means(np.log(np.maximum(low, 0.0)))
            most = metrics.means(np.log(np.maximum(high, LEAST_FORCE)))
            apart = np.maximum(least - metrics.desired_mean, metrics.desired_mean - most)
            worst = np.maximum(worst, apart[:, self._averaged].max(axis=1))
        return np.asarray(worst)
