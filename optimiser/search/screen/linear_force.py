"""Forces of members with one kind of crossover by a straight line, with a margin that is measured: fast.

Each known force counts the less the farther it is from the goal, so that the line is best where it matters.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.forecast import Forecast
from optimiser.search.screen.straight_line import StraightLine
from optimiser.search.screen.surrogate_force import SAFETY, near_the_goal

Floats = NDArray[np.float64]

NEAREST: Final = 0.02
"""Known forces that miss a limit by no more than this share count in full. [-]"""


class LinearForce:
    """A straight line through the logarithms of known forces.

    As with :class:`SurrogateForce` each is predicted from all others, and the worst error near the goal, in
    standard deviations of its prediction, gives the margin at each velocity.

    Parameters
    ----------
    inputs : of members whose force is known (known, figures).
    logs : logarithms of their forces (known, velocities). [-]
    missed_by : by what share of the force each misses a limit at most, less than zero inside (known,).
    widening : how many times as wide as usual margins are.
    """

    def __init__(self, inputs: Floats, logs: Floats, missed_by: Floats, widening: float) -> None:
        near = near_the_goal(missed_by)
        counts = (NEAREST / np.maximum(missed_by, NEAREST)) ** 2
        self._line = StraightLine(inputs, logs, counts=counts, near=near)
        errors = np.abs(self._line.left_out - logs) / self._line.deviations[:, None]
        self._per_deviation = widening * SAFETY * errors[near].max(axis=0)

    def predict(self, inputs: Floats) -> Forecast:
        """Forces of members, and by how much they may be wrong."""
        rows = self._line.rows(inputs)
        margins = self._line.deviations_at(rows)[:, None] * self._per_deviation
        return Forecast(rows @ self._line.slopes, margins)
