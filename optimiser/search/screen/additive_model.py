"""Violations of constraints by adding up what each shim does: rough, and so fast that millions take a second.

The logarithm of force as a straight line in bending stiffness and height of each slot, whatever the
crossovers: then what leaves and what comes add up. Margins are measured as those of other predictions, but in
one direction: no member that keeps a constraint may be taken for one that violates it.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.kernel.sums import Margins
from optimiser.search.screen.constraints import Constraints
from optimiser.search.screen.straight_line import StraightLine
from optimiser.search.screen.surrogate_force import ENOUGH, NEAR, SAFETY

Floats = NDArray[np.float64]

FALLS_AT: Final = 0.05
"""Members whose largest violation is as large count a quarter of those that violate nothing. [-]"""

NEAREST: Final = 0.1
"""Share of the known members that margins are measured on, where no more are near the goal. [-]"""

MOST_CONSTRAINTS: Final = 12
"""Constraints that are looked at: those that together rule out most. [-]"""


class AdditiveModel:
    """Violations of a goal's constraints by members of shapes with the same slots.

    Parameters
    ----------
    inputs : bending stiffness and height of each slot of members that are known (known, inputs).
    logs : logarithms of their forces (known, velocities). [-]
    error : how far these may be wrong (velocities,). [-]
    constraints : of the goal.
    widening : how many times as wide as usual margins are.

    Attributes
    ----------
    line : all violations as a straight line.
    slopes : of the constraints that are looked at (1 + varied inputs, constraints).
    margins : of these; none where none rules anything out.
    """

    def __init__(
        self, inputs: Floats, logs: Floats, error: Floats, constraints: Constraints, *, widening: float
    ) -> None:
        violations = constraints.violations(logs)
        most = violations.max(axis=1)
        counts = (FALLS_AT / (FALLS_AT + np.maximum(most, 0.0))) ** 2
        near = _near(most)
        self.line = StraightLine(inputs, violations, counts=counts, near=near)
        left_out, deviations = self.line.left_out, self.line.deviations[:, None]
        too_high = (np.maximum(left_out - violations, 0.0) / deviations)[near].max(axis=0)
        per_deviation = widening * SAFETY * too_high
        errors = error @ np.abs(constraints.weights).T
        chosen = _that_rule_out_most(left_out - errors - per_deviation * deviations >= 0)
        self.slopes = self.line.slopes[:, chosen]
        self.margins = Margins(per_deviation[chosen], errors[chosen])

    def predicted(self, inputs: Floats) -> Floats:
        """The largest violation of each member, as it is predicted (members,). [-]"""
        return np.asarray((self.line.rows(inputs) @ self.line.slopes).max(axis=1))

    def excess(self, inputs: Floats) -> Floats:
        """Share of the force by which members surely miss the goal, below 0 where they may not (members,)."""
        rows = self.line.rows(inputs)
        deviations = self.line.deviations_at(rows)[:, None]
        margins = self.margins.errors + self.margins.per_deviation * deviations
        return np.asarray((rows @ self.slopes - margins).max(axis=1, initial=-1.0))


def _near(most: Floats) -> NDArray[np.bool_]:
    """Which known members margins are measured on, by their largest violations."""
    count = min(max(ENOUGH, int(NEAREST * len(most))), len(most))
    return most <= max(NEAR, float(np.sort(most)[count - 1]))


def _that_rule_out_most(out: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Constraints that rule out most of the known members, then most of those that are left, and so on.

    Parameters
    ----------
    out : which constraint rules out which member (members, constraints).
    """
    chosen: list[int] = []
    left = np.ones(len(out), np.bool_)
    while len(chosen) < MOST_CONSTRAINTS:
        counts = out[left].sum(axis=0)
        if not counts.any():
            break
        chosen.append(int(counts.argmax()))
        left &= ~out[:, chosen[-1]]
    return np.array(chosen, dtype=np.intp)
