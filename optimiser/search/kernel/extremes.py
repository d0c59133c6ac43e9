"""The two stacks that bound a family, on plain arrays and compiled: a long search asks for tens of thousands.

What makes them bounds is said in :mod:`optimiser.search.bounds.relaxation`.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.units import MICROMETRE
from optimiser.search.kernel.accumulators import (
    FAINT,
    HIGH,
    LOW,
    add,
    piled,
    put,
    put_stiffly,
    softest_of,
    take_heights,
    take_kind,
    take_softly,
    take_stiffly,
)
from optimiser.search.kernel.jit import ENTRY, PART
from optimiser.search.kernel.tables import BENDING, HEIGHT, PLACE, THICK, THIN, MoveTable, SlotTable

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

SPREAD: Final = -1
"""Stands for the slot of height that is laid behind a run. [-]"""


@PART
def filled(slots: SlotTable, moves: MoveTable) -> tuple[Flags, Flags]:
    """For each slot whether every member of a family has a shim in it, and whether one may have."""
    least, most = slots.kept.copy(), slots.kept.copy()
    for patch in range(moves.many.size):
        first, end, many = moves.begin[patch], moves.begin[patch + 1], moves.many[patch]
        for k in range(first, end):
            place = int(moves.spans[k, PLACE])
            if patch < moves.outs:
                least[place] -= many
                if end - first == 1:
                    most[place] -= many
            else:
                most[place] += many
                if end - first == 1:
                    least[place] = max(least[place], 0) + many
    return least > 0, most > 0


@ENTRY
def makes_a_stack(slots: SlotTable, moves: MoveTable) -> bool:
    """Whether a member of a family can cover the ports and rise at every crossover."""
    _, there = filled(slots, moves)
    narrow, wide = np.full(slots.runs, 10**9), np.zeros(slots.runs, np.int64)
    covers = False
    for place in range(there.size):
        if there[place]:
            run, outer = slots.run[place], slots.outer[place]
            narrow[run], wide[run] = min(narrow[run], outer), max(wide[run], outer)
            covers = covers or (run == 0 and outer >= slots.least_face)
    for run in range(slots.runs - 1):
        if not narrow[run] < wide[run + 1]:
            return False
    return covers


@PART
def opening(slots: SlotTable, there: Flags) -> Flags:
    """For each slot, whether a wider pack follows in a later run when those ``there`` are filled."""
    later = np.zeros(slots.runs + 1, np.int64)
    for place in range(there.size - 1, -1, -1):
        if there[place]:
            run = slots.run[place]
            later[run] = max(later[run], slots.outer[place])
    for run in range(slots.runs - 1, -1, -1):
        later[run] = max(later[run], later[run + 1])
    opens = np.zeros(there.size, np.bool_)
    for place in range(there.size):
        opens[place] = slots.outer[place] < later[slots.run[place] + 1]
    return opens


@PART
def held_off(slots: SlotTable, present: Flags) -> Ints:
    """For each slot, how many packs of earlier runs hold it off when those ``present`` are there."""
    held, run, outer = np.zeros(present.size, np.int64), slots.run, slots.outer
    for place in range(present.size):
        for other in range(present.size):
            if present[other] and run[other] < run[place] and outer[other] < outer[place]:
                held[place] += 1
    return held


@PART
def group_end(k: int, end: int, slots: SlotTable, moves: MoveTable, held: Ints) -> int:
    """Where the spans end that lie in the run of the k-th one and behind as many packs as it does."""
    place = int(moves.spans[k, PLACE])
    while k < end:
        other = int(moves.spans[k, PLACE])
        if slots.run[other] != slots.run[place] or held[other] != held[place]:
            break
        k += 1
    return k


@ENTRY
def stiff_end(slots: SlotTable, moves: MoveTable) -> tuple[Floats, Ints, float]:
    """Plates that no member of a family gives more force than.

    Returns
    -------
    Rows of radius, bending, stretching, shear and height; the slot of each; the face shim's thickness. [m]
    """
    sure, there = filled(slots, moves)
    opens, held, piles, spans = opening(slots, there), held_off(slots, sure), piled(slots), moves.spans
    for patch in range(moves.many.size):
        first, end, many = moves.begin[patch], moves.begin[patch + 1], moves.many[patch]
        if patch >= moves.outs:
            k = first
            while k < end:
                behind = group_end(k, end, slots, moves, held)
                put_stiffly(k, behind, many, spans, piles)
                k = behind
            if end - first == 1:
                piles[int(spans[first, PLACE]), LOW] += many * spans[first, THIN + HEIGHT]
            continue
        if moves.single[patch]:
            take_kind(piles[int(spans[first, PLACE])], spans[first, THIN:], many)
        elif group_end(first, end, slots, moves, held) == end:
            take_stiffly(first, end, many, spans, piles)
        take_heights(first, end, many, spans, piles)
    rows, places = np.empty((slots.run.size, 5)), np.empty(slots.run.size, np.int64)
    count, thickness = 0, 0.0
    for place in range(slots.run.size):
        pile = piles[place]
        # height without stiffness would hold off what lies behind it
        height = pile[HIGH] if pile[BENDING] > 0 and not opens[place] else pile[LOW]
        if not (pile[BENDING] > 0 or height > FAINT * MICROMETRE):
            continue
        if count == 0 and sure[place]:
            thickness = least_first(place, slots, moves)
        places[count] = place
        count = put(count, slots.radius[place], pile, height, rows)
    return rows[:count], places[:count], thickness


@ENTRY
def soft_end(slots: SlotTable, moves: MoveTable) -> tuple[Floats, Ints, float]:
    """Plates that no member of a family gives less force than; see :func:`stiff_end`.

    No rows when no face shim is sure to be there.
    """
    sure, there = filled(slots, moves)
    opens, held, piles, spans = opening(slots, there), held_off(slots, there), piled(slots), moves.spans
    extra = np.zeros(slots.runs)
    for patch in range(moves.many.size):
        first, end, many = moves.begin[patch], moves.begin[patch + 1], moves.many[patch]
        if patch >= moves.outs:
            come_softly(first, end, many, slots, moves, held, opens, piles, extra)
            continue
        if moves.single[patch]:
            take_kind(piles[int(spans[first, PLACE])], spans[first, THIN:], many)
        else:
            k = first
            while k < end:
                behind = group_end(k, end, slots, moves, held)
                take_softly(k, behind, many, spans, piles)
                k = behind
        take_heights(first, end, many, spans, piles)
    size = slots.run.size + slots.runs
    rows, places = np.empty((size, 5)), np.empty(size, np.int64)
    nothing = np.zeros(5)
    count, thickness, run = 0, 0.0, 0
    for place in range(slots.run.size + 1):
        end = slots.run[place] if place < slots.run.size else slots.runs
        while run < end:
            if count > 0 and extra[run] > 0:
                places[count] = SPREAD
                count = put(count, slots.clamp_radius, nothing, extra[run], rows)
            run += 1
        if place == slots.run.size:
            break
        pile = piles[place]
        if sure[place] or pile[BENDING] > 0:
            if count == 0:
                if run > 0 or slots.outer[place] < slots.least_face:
                    break
                thickness = min(most_first(place, slots, moves), max(pile[LOW], 0.0))
            places[count] = place
            count = put(count, slots.radius[place], pile, pile[HIGH] if opens[place] else pile[LOW], rows)
        elif opens[place] and there[place]:
            extra[run] += max(pile[HIGH], 0.0)
    return rows[:count], places[:count], thickness


@PART
def come_softly(
    first: int, end: int, many: int, slots: SlotTable, moves: MoveTable, held: Ints, opens: Flags,
    piles: Floats, extra: Floats,
) -> None:  # fmt: skip
    """Put what comes where it does least; what may open several gaps opens each, as ``extra`` behind runs."""
    spans, low, high = moves.spans, np.inf, 0.0
    for k in range(first, end):
        low, high = min(low, spans[k, THIN + HEIGHT]), max(high, spans[k, THICK + HEIGHT])
    if group_end(first, end, slots, moves, held) == end:
        pile = piles[int(spans[end - 1, PLACE])]
        add(pile, spans[softest_of(first, end, spans), THIN:], many)
        pile[LOW] += many * low
        pile[HIGH] += many * high
        return
    told = -1
    for k in range(first, end):
        place = int(spans[k, PLACE])
        if opens[place] and slots.run[place] != told:
            told = slots.run[place]
            extra[told] += many * high


@PART
def least_first(place: int, slots: SlotTable, moves: MoveTable) -> float:
    """Least thickness of the shim on the piston's side of a slot that surely has one. [m]"""
    gone, least = 0, 0.0
    for patch in range(moves.many.size):
        first, end = moves.begin[patch], moves.begin[patch + 1]
        for k in range(first, end):
            if int(moves.spans[k, PLACE]) != place:
                continue
            if patch < moves.outs:
                gone += moves.many[patch]
            elif end - first == 1:
                least = max(least, moves.spans[k, THIN + HEIGHT])
    return float(max(least, slots.heights[place, min(gone, slots.kept[place])]))


@PART
def most_first(place: int, slots: SlotTable, moves: MoveTable) -> float:
    """Most thickness of the shim on the piston's side of a slot. [m]"""
    most = slots.heights[place, 0]
    for k in range(moves.begin[moves.outs], moves.begin[moves.many.size]):
        if int(moves.spans[k, PLACE]) == place:
            most = max(most, moves.spans[k, THICK + HEIGHT])
    return float(most)
