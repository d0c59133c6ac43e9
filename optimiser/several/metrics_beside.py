"""Figures of a goal for a stack that is tried beside sums of others: as near as the best of them brings it.

Only the primal heuristic goes by them; nothing is proven.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.model.goal import LEAST_FORCE
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.several.rows import misfits

Floats = NDArray[np.float64]

FEW: Final = 16
"""Sums, as different from each other as they come, that rank what is only predicted. [-]"""


class MetricsBeside:
    """Distances from a goal, the least with any of some sums.

    Parameters
    ----------
    metrics : of the goal.
    before : force with all stacks as they are (velocities,). [N]
    added : what each sum adds to the force (sums, velocities). [N]

    Attributes
    ----------
    relative_half_width : as of the goal.
    """

    def __init__(self, metrics: GoalMetrics, before: Floats, added: Floats) -> None:
        self._metrics, self._added = metrics, added
        self.relative_half_width = metrics.relative_half_width
        logs = np.log(np.maximum(before + added, LEAST_FORCE)) - np.log(np.maximum(before, LEAST_FORCE))
        self._few = logs[_apart(logs / self.relative_half_width)]

    def off_middle(self, logs: Floats) -> Floats:
        """As of the goal, with the same share of any force added as of the force before (rows,). [-]"""
        found = np.full(len(logs), np.inf)
        for one in self._few:
            np.minimum(found, self._metrics.off_middle(logs + one), out=found)
        return found

    def misfit(self, forces: Floats) -> float:
        """As of the goal, with the sum that brings the forces nearest. [-]"""
        return float(misfits(self._metrics, forces + self._added).min())


def _apart(points: Floats) -> NDArray[np.intp]:
    """Some points, each the one that lies farthest from those before it."""
    chosen = [int(np.abs(points).max(axis=1).argmin())]
    nearest = np.full(len(points), np.inf)
    while len(chosen) < min(FEW, len(points)):
        np.minimum(nearest, np.abs(points - points[chosen[-1]]).max(axis=1), out=nearest)
        chosen.append(int(nearest.argmax()))
    return np.array(chosen, dtype=np.intp)
