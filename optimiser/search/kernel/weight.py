"""A coarse measure of plates' stiffness, by which the search tells how far a bounding stack has moved."""

from __future__ import annotations

from math import exp, log
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.kernel.jit import ENTRY

HELD_OFF: Final = 0.15e-3
"""Gap behind which a plate is taken to count for a third. [m]"""

NEGLIGIBLE: Final = 1e-9
"""Weights of plates are compared from here on. [N m]"""


@ENTRY
def weight_of(packs: NDArray[np.float64]) -> float:
    """Logarithm of the measure; ``packs`` as rows of radius, bending, stretching, shear and height."""
    total, narrowest = NEGLIGIBLE, np.inf
    for k in range(packs.shape[0]):
        radius, gap = packs[k, 0], 0.0
        if radius > narrowest:
            for before in range(k):
                if packs[before, 0] < radius:
                    gap += packs[before, 4]
        total += packs[k, 1] * (radius / packs[0, 0]) ** 2 * exp(-gap / HELD_OFF)
        narrowest = min(narrowest, radius)
    return log(total)
