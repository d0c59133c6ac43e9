"""The two bounding stacks of a family on plain arrays, compiled: a long search makes tens of thousands.

What makes them bounds is said in :mod:`optimiser.search.bounds.relaxation`.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.units import MICROMETRE
from optimiser.search.kernel.accumulators import (
    HIGH,
    LOW,
    NEGLIGIBLE,
    add,
    append_plate,
    insert_most,
    kept_accumulators,
    remove_heights,
    remove_least,
    remove_most,
    remove_type,
    softest_of,
)
from optimiser.search.kernel.jit import ENTRY, PART
from optimiser.search.kernel.presence import filled, group_end, held_off, opening
from optimiser.search.kernel.tables import BENDING, HEIGHT, PLACE, THICK, THIN, MoveTable, SlotTable

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

SPREAD: Final = -1
"""Stands for the slot of height that lies behind a run. [-]"""


@ENTRY
def stiffest_plates(slots: SlotTable, moves: MoveTable) -> tuple[Floats, Ints, float]:
    """Plates that no member of a family gives more force than.

    Returns
    -------
    Rows of radius, bending, stretching, shear and height; the slot of each; the face shim's thickness. [m]
    """
    sure, there = filled(slots, moves)
    opens, held, accumulators, spans = (
        opening(slots, there),
        held_off(slots, sure),
        kept_accumulators(slots),
        moves.spans,
    )
    for patch in range(moves.counts.size):
        first, end, count = moves.begin[patch], moves.begin[patch + 1], moves.counts[patch]
        if patch >= moves.outs:
            k = first
            while k < end:
                behind = group_end(k, end, slots, moves, held)
                insert_most(k, behind, count, spans, accumulators)
                k = behind
            if end - first == 1:
                accumulators[int(spans[first, PLACE]), LOW] += count * spans[first, THIN + HEIGHT]
            continue
        if moves.single[patch]:
            remove_type(accumulators[int(spans[first, PLACE])], spans[first, THIN:], count)
        elif group_end(first, end, slots, moves, held) == end:
            remove_least(first, end, count, spans, accumulators)
        remove_heights(first, end, count, spans, accumulators)
    rows, places = np.empty((slots.run.size, 5)), np.empty(slots.run.size, np.int64)
    plates, thickness = 0, 0.0
    for place in range(slots.run.size):
        accumulator = accumulators[place]
        # height without stiffness would hold off what lies behind it
        height = accumulator[HIGH] if accumulator[BENDING] > 0 and not opens[place] else accumulator[LOW]
        if not (accumulator[BENDING] > 0 or height > NEGLIGIBLE * MICROMETRE):
            continue
        if plates == 0 and sure[place]:
            thickness = least_face_thickness(place, slots, moves)
        places[plates] = place
        plates = append_plate(plates, slots.radius[place], accumulator, height, rows)
    return rows[:plates], places[:plates], thickness


@ENTRY
def softest_plates(slots: SlotTable, moves: MoveTable) -> tuple[Floats, Ints, float]:
    """Plates that no member of a family gives less force than; see :func:`stiffest_plates`.

    No rows when no face shim is sure to be there.
    """
    sure, there = filled(slots, moves)
    opens, held, accumulators, spans = (
        opening(slots, there),
        held_off(slots, there),
        kept_accumulators(slots),
        moves.spans,
    )
    extra = np.zeros(slots.runs)
    for patch in range(moves.counts.size):
        first, end, count = moves.begin[patch], moves.begin[patch + 1], moves.counts[patch]
        if patch >= moves.outs:
            insert_least(first, end, count, slots, moves, held, opens, accumulators, extra)
            continue
        if moves.single[patch]:
            remove_type(accumulators[int(spans[first, PLACE])], spans[first, THIN:], count)
        else:
            k = first
            while k < end:
                behind = group_end(k, end, slots, moves, held)
                remove_most(k, behind, count, spans, accumulators)
                k = behind
        remove_heights(first, end, count, spans, accumulators)
    size = slots.run.size + slots.runs
    rows, places = np.empty((size, 5)), np.empty(size, np.int64)
    empty = np.zeros(5)
    plates, thickness, run = 0, 0.0, 0
    for place in range(slots.run.size + 1):
        end = slots.run[place] if place < slots.run.size else slots.runs
        while run < end:
            if plates > 0 and extra[run] > 0:
                places[plates] = SPREAD
                plates = append_plate(plates, slots.clamp_radius, empty, extra[run], rows)
            run += 1
        if place == slots.run.size:
            break
        accumulator = accumulators[place]
        if sure[place] or accumulator[BENDING] > 0:
            if plates == 0:
                if run > 0 or slots.outer[place] < slots.least_face:
                    break
                thickness = min(most_face_thickness(place, slots, moves), max(accumulator[LOW], 0.0))
            places[plates] = place
            plates = append_plate(
                plates,
                slots.radius[place],
                accumulator,
                accumulator[HIGH] if opens[place] else accumulator[LOW],
                rows,
            )
        elif opens[place] and there[place]:
            extra[run] += max(accumulator[HIGH], 0.0)
    return rows[:plates], places[:plates], thickness


@PART
def insert_least(
    first: int, end: int, count: int, slots: SlotTable, moves: MoveTable, held: Ints, opens: Flags,
    accumulators: Floats, extra: Floats,
) -> None:  # fmt: skip
    """Insert shims where they do least; where several gaps may open, each does, as ``extra`` behind runs."""
    spans, low, high = moves.spans, np.inf, 0.0
    for k in range(first, end):
        low, high = min(low, spans[k, THIN + HEIGHT]), max(high, spans[k, THICK + HEIGHT])
    if group_end(first, end, slots, moves, held) == end:
        accumulator = accumulators[int(spans[end - 1, PLACE])]
        add(accumulator, spans[softest_of(first, end, spans), THIN:], count)
        accumulator[LOW] += count * low
        accumulator[HIGH] += count * high
        return
    last_run = -1
    for k in range(first, end):
        place = int(spans[k, PLACE])
        if opens[place] and slots.run[place] != last_run:
            last_run = slots.run[place]
            extra[last_run] += count * high


@PART
def least_face_thickness(place: int, slots: SlotTable, moves: MoveTable) -> float:
    """Least thickness of the shim on the piston's side of a slot that surely has one. [m]"""
    least = np.inf
    for k in range(moves.begin[moves.outs], moves.begin[moves.counts.size]):
        if int(moves.spans[k, PLACE]) == place:
            least = min(least, moves.spans[k, THIN + HEIGHT])
    for number in range(foremost(place, slots, moves)):
        least = min(least, slots.heights[place, number])
    return float(least)


@PART
def most_face_thickness(place: int, slots: SlotTable, moves: MoveTable) -> float:
    """Most thickness of the shim on the piston's side of a slot. [m]"""
    most = 0.0
    for k in range(moves.begin[moves.outs], moves.begin[moves.counts.size]):
        if int(moves.spans[k, PLACE]) == place:
            most = max(most, moves.spans[k, THICK + HEIGHT])
    for number in range(foremost(place, slots, moves)):
        most = max(most, slots.heights[place, number])
    return float(most)


@PART
def foremost(place: int, slots: SlotTable, moves: MoveTable) -> int:
    """How many of the shims kept in a slot may lie on the piston's side of all that stay, the first ones."""
    leaving = 0
    for patch in range(moves.outs):
        for k in range(moves.begin[patch], moves.begin[patch + 1]):
            if int(moves.spans[k, PLACE]) == place:
                leaving += moves.counts[patch]
    return int(min(leaving + 1, slots.kept[place]))
