"""Piles: the packs of an end in the making, as rows of bending, stretching, give, least and most height."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.kernel.jit import PART
from optimiser.search.kernel.tables import BENDING, GIVE, HEIGHT, PLACE, STRETCHING, THICK, THIN, SlotTable

Floats = NDArray[np.float64]

FAINT: Final = 1e-9
"""A pack left with a smaller share of its stiffness than this has none. [-]"""

LOW: Final = 3
HIGH: Final = 4
"""Columns of a pile after its bending, stretching and give: least and most height. [-]"""


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
def piled(slots: SlotTable) -> Floats:
    """What is kept: bending, stretching, give, and the least and the most height of each slot (slots, 5)."""
    piles = np.empty((slots.run.size, 5))
    for place in range(slots.run.size):
        for i in range(4):
            piles[place, i] = slots.whole[place, i]
        piles[place, HIGH] = slots.whole[place, HEIGHT]
    return piles


@PART
def add(pile: Floats, one: Floats, times: int) -> None:
    """Add shims of one type to a pile, all but their height."""
    for i in range(3):
        pile[i] += times * one[i]


@PART
def take_kind(pile: Floats, one: Floats, times: int) -> None:
    """Take shims of one type that are in a pile, all but their height."""
    add(pile, one, -times)
    if pile[BENDING] < FAINT * one[BENDING]:
        pile[BENDING] = pile[STRETCHING] = pile[GIVE] = 0.0


@PART
def take_some(pile: Floats, bending: float, stretching: float) -> tuple[float, float]:
    """Take what there is of a stiffness; how much that was. Shear falls as bending does."""
    if pile[BENDING] <= bending * (1 + FAINT):
        taken = pile[BENDING], pile[STRETCHING]
        pile[BENDING] = pile[STRETCHING] = pile[GIVE] = 0.0
        return taken
    pile[GIVE] *= 1 - bending / pile[BENDING]
    pile[BENDING] -= bending
    pile[STRETCHING] = max(pile[STRETCHING] - stretching, FAINT * pile[STRETCHING])
    return bending, stretching


@PART
def take_softly(first: int, end: int, many: int, spans: Floats, piles: Floats) -> None:
    """Take shims that lie in some spans, so that no way to take them leaves less within any radius."""
    bending = stretching = most_bending = most_stretching = 0.0
    for k in range(first, end):
        most_bending = max(most_bending, many * spans[k, THICK + BENDING])
        most_stretching = max(most_stretching, many * spans[k, THICK + STRETCHING])
        more = take_some(
            piles[int(spans[k, PLACE])],
            most_bending - bending,
            most_stretching - stretching,
        )
        bending += more[0]
        stretching += more[1]


@PART
def take_stiffly(first: int, end: int, many: int, spans: Floats, piles: Floats) -> None:
    """Take shims that lie in some spans: as soft as the softest, from the narrowest on."""
    soft = softest_of(first, end, spans)
    bending, stretching = many * spans[soft, THIN + BENDING], many * spans[soft, THIN + STRETCHING]
    for k in range(end - 1, first - 1, -1):
        more = take_some(piles[int(spans[k, PLACE])], bending, stretching)
        bending, stretching = bending - more[0], max(stretching - more[1], 0.0)


@PART
def put_stiffly(first: int, end: int, many: int, spans: Floats, piles: Floats) -> None:
    """Put shims into some spans, so that no way to put them brings more within any radius."""
    bending = stretching = 0.0
    for k in range(first, end):
        pile, stiff = piles[int(spans[k, PLACE])], spans[k, THICK + BENDING]
        if k > first and stiff <= bending:
            continue
        share = (stiff - bending) / stiff if stiff > 0 else 1.0
        pile[BENDING] += many * (stiff - bending)
        pile[STRETCHING] += many * (spans[k, THICK + STRETCHING] - stretching)
        pile[GIVE] += many * share * spans[k, THICK + GIVE]
        pile[HIGH] += many * spans[k, THICK + HEIGHT]
        bending, stretching = stiff, spans[k, THICK + STRETCHING]


@PART
def take_heights(first: int, end: int, many: int, spans: Floats, piles: Floats) -> None:
    """Least and most height once shims have left."""
    for k in range(first, end):
        pile = piles[int(spans[k, PLACE])]
        pile[LOW] -= many * spans[k, THICK + HEIGHT]
        if end - first == 1:
            pile[HIGH] -= many * spans[k, THIN + HEIGHT]


@PART
def put(count: int, radius: float, pile: Floats, height: float, rows: Floats) -> int:
    """Lay a pile as a plate; how many there are then."""
    bending, give = pile[BENDING], pile[GIVE]
    rows[count, 0], rows[count, 1], rows[count, 2] = radius, bending, pile[STRETCHING]
    rows[count, 3] = bending**2 / give if give > 0 else (np.inf if bending > 0 else 0.0)
    rows[count, 4] = max(height, 0.0)
    return count + 1
