"""Accumulators: the sums that the pack of each slot has in a bounding stack in the making.

A row holds bending and stretching stiffness, shear compliance, and the least and the most height. Functions
that end in ``_most`` move as much stiffness as any choice of sites would, those in ``_least`` as little.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.kernel.jit import PART
from optimiser.search.kernel.tables import (
    BENDING,
    HEIGHT,
    PLACE,
    SHEAR_COMPLIANCE,
    STRETCHING,
    THICK,
    THIN,
    SlotTable,
)

Floats = NDArray[np.float64]

NEGLIGIBLE: Final = 1e-9
"""A pack left with a smaller share of its stiffness than this has none. [-]"""

LOW: Final = 3
HIGH: Final = 4
"""Columns of an accumulator after its stiffness: least and most height. [-]"""


@PART
def softest_of(first: int, end: int, spans: Floats) -> int:
    """The span with the softest of some spans' shims, the first of alike ones."""
    best, height = first, THIN + HEIGHT
    for k in range(first + 1, end):
        ahead = spans[best, THIN + BENDING] - spans[k, THIN + BENDING]
        if ahead > 0 or (ahead == 0 and spans[k, height] < spans[best, height]):
            best = k
    return best


@PART
def kept_accumulators(slots: SlotTable) -> Floats:
    """What is kept in each slot (slots, 5)."""
    accumulators = np.empty((slots.run.size, 5))
    for place in range(slots.run.size):
        for i in range(4):
            accumulators[place, i] = slots.whole[place, i]
        accumulators[place, HIGH] = slots.whole[place, HEIGHT]
    return accumulators


@PART
def add(accumulator: Floats, one: Floats, times: int) -> None:
    """Add shims of one type, all but their height."""
    for i in range(3):
        accumulator[i] += times * one[i]


@PART
def remove_type(accumulator: Floats, one: Floats, times: int) -> None:
    """Remove shims of one type that are there, all but their height."""
    add(accumulator, one, -times)
    if accumulator[BENDING] < NEGLIGIBLE * one[BENDING]:
        accumulator[BENDING] = accumulator[STRETCHING] = accumulator[SHEAR_COMPLIANCE] = 0.0


@PART
def remove_stiffness(accumulator: Floats, bending: float, stretching: float) -> tuple[float, float]:
    """Remove what there is of a stiffness; how much that was. Shear falls as bending does."""
    if accumulator[BENDING] <= bending * (1 + NEGLIGIBLE):
        taken = accumulator[BENDING], accumulator[STRETCHING]
        accumulator[BENDING] = accumulator[STRETCHING] = accumulator[SHEAR_COMPLIANCE] = 0.0
        return taken
    accumulator[SHEAR_COMPLIANCE] *= 1 - bending / accumulator[BENDING]
    accumulator[BENDING] -= bending
    accumulator[STRETCHING] = max(accumulator[STRETCHING] - stretching, NEGLIGIBLE * accumulator[STRETCHING])
    return bending, stretching


@PART
def remove_most(first: int, end: int, count: int, spans: Floats, accumulators: Floats) -> None:
    """Remove shims that lie in some spans, so that no way to take them leaves less within any radius."""
    bending = stretching = most_bending = most_stretching = 0.0
    for k in range(first, end):
        most_bending = max(most_bending, count * spans[k, THICK + BENDING])
        most_stretching = max(most_stretching, count * spans[k, THICK + STRETCHING])
        more = remove_stiffness(
            accumulators[int(spans[k, PLACE])],
            most_bending - bending,
            most_stretching - stretching,
        )
        bending += more[0]
        stretching += more[1]


@PART
def remove_least(first: int, end: int, count: int, spans: Floats, accumulators: Floats) -> None:
    """Remove shims that lie in some spans: as soft as the softest, from the narrowest on."""
    soft = softest_of(first, end, spans)
    bending, stretching = count * spans[soft, THIN + BENDING], count * spans[soft, THIN + STRETCHING]
    for k in range(end - 1, first - 1, -1):
        more = remove_stiffness(accumulators[int(spans[k, PLACE])], bending, stretching)
        bending, stretching = bending - more[0], max(stretching - more[1], 0.0)


@PART
def insert_most(first: int, end: int, count: int, spans: Floats, accumulators: Floats) -> None:
    """Insert shims into some spans, so that no way to put them brings more within any radius."""
    bending = stretching = 0.0
    for k in range(first, end):
        accumulator, stiff = accumulators[int(spans[k, PLACE])], spans[k, THICK + BENDING]
        if k > first and stiff <= bending:
            continue
        share = (stiff - bending) / stiff if stiff > 0 else 1.0
        accumulator[BENDING] += count * (stiff - bending)
        accumulator[STRETCHING] += count * (spans[k, THICK + STRETCHING] - stretching)
        accumulator[SHEAR_COMPLIANCE] += count * share * spans[k, THICK + SHEAR_COMPLIANCE]
        accumulator[HIGH] += count * spans[k, THICK + HEIGHT]
        bending, stretching = stiff, spans[k, THICK + STRETCHING]


@PART
def remove_heights(first: int, end: int, count: int, spans: Floats, accumulators: Floats) -> None:
    """Least and most height once shims have left."""
    for k in range(first, end):
        accumulator = accumulators[int(spans[k, PLACE])]
        accumulator[LOW] -= count * spans[k, THICK + HEIGHT]
        if end - first == 1:
            accumulator[HIGH] -= count * spans[k, THIN + HEIGHT]


@PART
def append_plate(plates: int, radius: float, accumulator: Floats, height: float, rows: Floats) -> int:
    """Append a slot's accumulator to the plates; how many there are then."""
    bending, shear_compliance = accumulator[BENDING], accumulator[SHEAR_COMPLIANCE]
    rows[plates, 0], rows[plates, 1], rows[plates, 2] = radius, bending, accumulator[STRETCHING]
    rows[plates, 3] = (
        bending**2 / shear_compliance if shear_compliance > 0 else (np.inf if bending > 0 else 0.0)
    )
    rows[plates, 4] = max(height, 0.0)
    return plates + 1
