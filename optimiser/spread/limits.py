"""The limits of a goal as changes against the damper as it is, which every drawn damper has for itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optimiser.model.band_result import ROUNDING
from optimiser.model.goal import LEAST_FORCE, Goal, Window, mean_weights

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class BandLimits:
    """What one band of a goal may do.

    Parameters
    ----------
    window : the band.
    part : its velocities among the goal's.
    lower, upper : least and most logarithm of the force over the force before (velocities,). [-]
    weights : of each velocity in the average (velocities,). [-]
    """

    window: Window
    part: slice
    lower: Floats
    upper: Floats
    weights: Floats

    def means(self, changes: Floats) -> Floats:
        """Average change of the band (...). [-]

        Parameters
        ----------
        changes : logarithm of the force over the force before, at every velocity of the goal
            (..., velocities). [-]
        """
        return np.asarray(changes[..., self.part] @ self.weights)

    def missed_by(self, changes: Floats) -> Floats:
        """By what share of the force before the worst limit is missed; 0 when all are kept (...). [-]"""
        own, lower, upper = np.expm1(changes[..., self.part]), np.expm1(self.lower), np.expm1(self.upper)
        worst = np.maximum(lower - own, own - upper).max(axis=-1)
        asked = self.window.average
        if asked is not None:
            mean, low, high = np.expm1(self.means(changes)), np.expm1(asked.lower), np.expm1(asked.upper)
            worst = np.maximum(worst, np.maximum(low - mean, mean - high))
        return np.where(worst > ROUNDING, worst, 0.0)


def band_limits(goal: Goal) -> tuple[BandLimits, ...]:
    """The limits of every band of a goal."""
    found = []
    for window, part in goal.parts:
        before = np.maximum(np.array(window.before), LEAST_FORCE)
        lower, upper = (
            np.log(np.maximum(np.array(side), LEAST_FORCE) / before) for side in (window.lower, window.upper)
        )
        found.append(BandLimits(window, part, lower, upper, mean_weights(window.velocities)))
    return tuple(found)
