"""Which level at which end is likeliest to close a family: compiled, since it comes before every question."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.kernel.jit import ENTRY

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

UNKNOWN: Final = 1e3
"""Width of a family of which nothing is known, in half-widths of a window. [-]"""

TIE: Final = 1e-9
"""Half-widths of a window that are rounding of the arithmetic. [-]"""


@ENTRY
def likeliest(
    thought: Floats, bounds: Floats, stood: Floats, drift: Floats, left_out: Flags, logs: Floats,
    signed_forces: Floats, signed_asked: Floats, share: Floats, sure: float, again: bool, no_soft_end: bool,
) -> tuple[int, int]:  # fmt: skip
    """End and place of the velocity; -1 for both when none is near enough.

    Parameters
    ----------
    thought, bounds, stood, drift : what is known of the family: :class:`optimiser.search.bounds.node.Node`.
    left_out : levels that are not to be asked (2, velocities).
    logs, signed_forces, signed_asked : of the levels, as :mod:`optimiser.search.bounds.bound_test` has them.
    share : half the width of each window, as a share of its force (velocities,). [-]
    sure : a level is not asked where the force is thought to clear it by this share. [-]
    again : only levels that the family is thought to miss, as far as it has been told.
    no_soft_end : whether there are no plates that bound it below.
    """
    many = share.size
    margins = np.full((2, many), -np.inf)
    most = -np.inf
    for end in range(1 if no_soft_end else 0, 2):
        sign = 1.0 if end == 0 else -1.0
        for place in range(many):
            settled = (
                sign * bounds[end, place] >= signed_forces[end, place]
                or signed_asked[end, place] >= stood[end, place]
            )
            if settled or left_out[end, place]:
                continue
            margin = (sign * thought[end, place] + logs[end, place]) / share[place]
            margins[end, place] = margin if np.isfinite(margin) else 0.0
            most = max(most, margins[end, place])
    missed = again or most > TIE  # it was not asked before, or less was
    best, best_end, best_place = -np.inf, -1, -1
    for end in range(2):
        for place in range(many):
            hope = margins[end, place]
            if missed:
                near = hope > TIE
            else:
                off = min(drift[end, place], thought[1, place] - thought[0, place])
                hope += min(off / share[place], UNKNOWN)
                near = hope > -sure / share[place]
            if near and hope > best:
                best, best_end, best_place = hope, end, place
    return best_end, best_place
