"""Which window a stack misses most, and by how much."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from optimiser.model.band_result import band_result
from optimiser.model.goal import Goal
from optimiser.search.control import Missed


def where_missed(goal: Goal, forces: Sequence[float] | NDArray[np.float64]) -> Missed:
    """The window that is missed most.

    Parameters
    ----------
    goal : whose windows.
    forces : resisting, at each velocity of the goal. [N]
    """
    judged = (
        Missed(window.name, band_result(window, tuple(forces[part])).missed_by)
        for window, part in goal.parts
        if window.velocities
    )
    return max(judged, key=lambda missed: missed.by)
