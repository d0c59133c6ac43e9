"""Forces that are known to within a margin, many at a time, held against the limits of a goal."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimiser.search.goal_metrics import GoalMetrics, Limits

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Forecast:
    """Logarithms of forces, as they are predicted or coarsely known, and how far they may be wrong.

    Parameters
    ----------
    logs : of the forces (stacks, velocities). [-]
    margins : of those (stacks, velocities). [-]
    """

    logs: Floats
    margins: Floats

    def beyond(self, metrics: GoalMetrics, limits: Limits) -> Floats:
        """Share of the force by which each surely misses a limit; less than 0 where it may not. [-]"""
        with np.errstate(divide="ignore"):
            lower, upper = np.log(np.maximum(limits.lower, 0.0)), np.log(np.maximum(limits.upper, 0.0))
        off = np.maximum(self.logs - upper, lower - self.logs) - self.margins
        means, apart = metrics.means(self.logs), metrics.means(self.margins)
        off = np.append(off, np.maximum(means - limits.most, limits.least - means) - apart, axis=1)
        return np.asarray(off.max(axis=1))

    def least_misfit(self, metrics: GoalMetrics) -> Floats:
        """Distance from the windows at least, in half-widths, less than zero inside (stacks,). [-]"""
        low, high = np.exp(self.logs - self.margins), np.exp(self.logs + self.margins)
        outside = np.maximum(metrics.lower - high, low - metrics.upper) / metrics.half_width
        worst = outside.max(axis=1)
        means, apart = metrics.means(self.logs), metrics.means(self.margins)
        if means.shape[1]:
            beyond = np.maximum(metrics.least - means, means - metrics.most) - apart
            worst = np.maximum(worst, (beyond / metrics.mean_half_width).max(axis=1))
        return np.asarray(worst)
