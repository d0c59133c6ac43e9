"""Forecasts of one stack's forces, held against a goal together with what others may add."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimiser.model.goal import LEAST_FORCE
from optimiser.search.forecast import Forecast
from optimiser.search.goal_metrics import GoalMetrics, Limits
from optimiser.search.kernel.together import beyond_together

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class AgainstSums:
    """The limits of a goal for one stack, with each of what others may add.

    Parameters
    ----------
    metrics : of the goal.
    limits : that all of it together keeps to.
    added : below and above what each addition does (additions, velocities). [N]
    silent : velocities at which the stack itself has no say (velocities,).
    before : force there, with all stacks as they are (velocities,). [N]
    """

    metrics: GoalMetrics
    limits: Limits
    added: tuple[Floats, Floats]
    silent: Flags
    before: Floats

    def beyond(self, forecast: Forecast) -> Floats:
        """Share of the force by which each misses a limit whatever is added; below 0 where it may not."""
        low, high = (np.where(self.silent, self.before, one) for one in forecast.forces)
        limits, parts = self.limits, self.metrics.averaged
        return np.asarray(
            beyond_together(
                low,
                high,
                *self.added,
                np.maximum(limits.lower, LEAST_FORCE),
                np.maximum(limits.upper, LEAST_FORCE),
                self.metrics.weights,
                np.array([(part.start, part.stop) for part in parts], dtype=np.int64).reshape(-1, 2),
                limits.least,
                limits.most,
                LEAST_FORCE,
            )
        )

    def least_misfit(self, forecast: Forecast, beyond: Floats) -> Floats:  # noqa: ARG002
        """The same: what is nearest by it is nearest by half-widths too, or nearly so."""
        return beyond
