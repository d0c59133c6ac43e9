"""Which bound test is likeliest to prune a family: compiled, since every test is chosen by it."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.kernel.jit import ENTRY

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

UNKNOWN: Final = 1e3
"""Uncertainty of a family of which nothing is known, in half-widths of a window. [-]"""

ROUNDING: Final = 1e-9
"""Half-widths of a window that are rounding of the arithmetic. [-]"""


@ENTRY
def most_promising(
    estimate: Floats, bounds: Floats, failed: Floats, uncertainty: Floats, left_out: Flags, logs: Floats,
    signed_bounds: Floats, signed_tested: Floats, relative_half_width: Floats, clear: float,
    only_likely: bool, no_softest: bool,
) -> tuple[int, int]:  # fmt: skip
    """Side and place of the velocity to test; -1 for both when no test comes near.

    Parameters
    ----------
    estimate, bounds, failed, uncertainty : of the family: :class:`optimiser.search.bounds.node.Node`.
    left_out : tests that are not to be made (2, velocities).
    logs, signed_bounds, signed_tested : of the thresholds: :mod:`optimiser.search.bounds.bound_test`.
    relative_half_width : of each window (velocities,). [-]
    clear : a test is not made where the estimate clears its threshold by this share; less than zero where
        it has to lie so far beyond. [-]
    only_likely : only tests that should succeed by the estimates as they are.
    no_softest : whether there are no plates that bound the family below.
    """
    velocities = relative_half_width.size
    margins = np.full((2, velocities), -np.inf)
    most = -np.inf
    for side in range(1 if no_softest else 0, 2):
        sign = 1.0 if side == 0 else -1.0
        for place in range(velocities):
            settled = (
                sign * bounds[side, place] >= signed_bounds[side, place]
                or signed_tested[side, place] >= failed[side, place]
            )
            if settled or left_out[side, place]:
                continue
            margin = (sign * estimate[side, place] + logs[side, place]) / relative_half_width[place]
            margins[side, place] = margin if np.isfinite(margin) else 0.0
            most = max(most, margins[side, place])
    # it was not tested before, or at another threshold
    likely = only_likely or (clear >= 0.0 and most > ROUNDING)
    best, best_side, best_place = -np.inf, -1, -1
    for side in range(2):
        for place in range(velocities):
            margin = margins[side, place]
            if likely:
                near = margin > ROUNDING
            else:
                off = min(uncertainty[side, place], estimate[1, place] - estimate[0, place])
                margin += min(off / relative_half_width[place], UNKNOWN)
                near = margin > -clear / relative_half_width[place]
            if near and margin > best:
                best, best_side, best_place = margin, side, place
    return best_side, best_place
