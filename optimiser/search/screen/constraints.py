"""A goal as linear constraints on the logarithms of forces, and on ratios of the forces at two velocities.

The sum of two constraints is one, too: where the force at one velocity has to be so high and that at another
so low, their ratio has to be so small. Nothing new follows for a force that is known, but much for one that
is predicted, since errors at two velocities go along with each other and all but vanish in the ratio. Such
sums are the surrogate constraints of F. Glover, "Surrogate constraints", Operations Research 16 (1968).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from optimiser.search.forecast import AgainstLimits

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Constraints:
    """What the logarithms of forces have to keep to: ``weights @ logs <= ends``.

    Parameters
    ----------
    weights : of each velocity (constraints, velocities). [-]
    ends : most that they may come to (constraints,). [-]
    """

    weights: Floats
    ends: Floats

    @classmethod
    def of(cls, against: AgainstLimits) -> Self:
        """Those of each velocity and average, then sums of one that says 'most' and one that says 'least'."""
        limits, metrics = against.limits, against.metrics
        velocities = np.eye(limits.lower.size)
        rows = np.concatenate([velocities, metrics.means(velocities).T])
        with np.errstate(divide="ignore"):
            most = np.append(np.log(np.maximum(limits.upper, 0.0)), limits.most)
            least = np.append(np.log(np.maximum(limits.lower, 0.0)), limits.least)
        upper, lower = np.flatnonzero(np.isfinite(most)), np.flatnonzero(np.isfinite(least))
        one, other = (each.ravel() for each in np.meshgrid(upper, lower, indexing="ij"))
        apart = one != other
        one, other = one[apart], other[apart]
        return cls(
            np.concatenate([rows[upper], -rows[lower], rows[one] - rows[other]]),
            np.concatenate([most[upper], -least[lower], most[one] - least[other]]),
        )

    def violations(self, logs: Floats) -> Floats:
        """By how much each is exceeded, less than zero where it is kept (stacks, constraints). [-]"""
        return np.asarray(logs @ self.weights.T - self.ends)
