"""Forces that are known to within a margin, many at a time, held against the limits of a goal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

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

    @property
    def forces(self) -> tuple[Floats, Floats]:
        """Below and above the forces (stacks, velocities). [N]"""
        return np.exp(self.logs - self.margins), np.exp(self.logs + self.margins)

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
        low, high = self.forces
        outside = np.maximum(metrics.lower - high, low - metrics.upper) / metrics.half_width
        worst = outside.max(axis=1)
        means, apart = metrics.means(self.logs), metrics.means(self.margins)
        if means.shape[1]:
            beyond = np.maximum(metrics.least - means, means - metrics.most) - apart
            worst = np.maximum(worst, (beyond / metrics.mean_half_width).max(axis=1))
        return np.asarray(worst)


class Against(Protocol):
    """What forecasts are held against."""

    def beyond(self, forecast: Forecast) -> Floats:
        """Share of the force by which each surely misses a limit; less than 0 where it may not. [-]"""
        ...

    def least_misfit(self, forecast: Forecast, beyond: Floats) -> Floats:
        """Distance from the goal at least: of those that were ruled out, which came nearest (stacks,). [-]

        ``beyond`` is what :meth:`beyond` has found of them.
        """
        ...


@dataclass(frozen=True, slots=True)
class AgainstLimits:
    """The limits of a goal for one stack alone.

    Parameters
    ----------
    metrics : of the goal.
    limits : that a stack of use keeps to.
    """

    metrics: GoalMetrics
    limits: Limits

    def beyond(self, forecast: Forecast) -> Floats:
        """See :meth:`Forecast.beyond`."""
        return forecast.beyond(self.metrics, self.limits)

    def least_misfit(self, forecast: Forecast, beyond: Floats) -> Floats:  # noqa: ARG002
        """See :meth:`Forecast.least_misfit`."""
        return forecast.least_misfit(self.metrics)
