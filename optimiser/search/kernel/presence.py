"""Which slots a family fills, and the gaps that follow: whether its members can be stacks at all.

Every bound rests on what is sure for all members. So each slot has two answers: whether every member has a
shim there, and whether any may have one.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from optimiser.search.kernel.jit import ENTRY, PART
from optimiser.search.kernel.tables import PLACE, MoveTable, SlotTable

Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@PART
def filled(slots: SlotTable, moves: MoveTable) -> tuple[Flags, Flags]:
    """For each slot whether every member of a family has a shim in it, and whether one may have."""
    least, most = slots.kept.copy(), slots.kept.copy()
    for patch in range(moves.counts.size):
        first, end, count = moves.begin[patch], moves.begin[patch + 1], moves.counts[patch]
        for k in range(first, end):
            place = int(moves.spans[k, PLACE])
            if patch < moves.outs:
                least[place] -= count
                if end - first == 1:
                    most[place] -= count
            else:
                most[place] += count
                if end - first == 1:
                    least[place] = max(least[place], 0) + count
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
