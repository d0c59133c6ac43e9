"""Sets of shims that leave a shape and come into it: which may be built, and what their force depends on.

One after another is worked out from its few moves and what is kept, so that millions can be gone through.
"""

from __future__ import annotations

from math import log
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.units import MICROMETRE
from optimiser.search.kernel.jit import ENTRY, PART

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Places = NDArray[np.int16]
Flags = NDArray[np.bool_]

HEIGHT_ROUNDING: Final = MICROMETRE / 2
"""Heights that differ by less are the same. [m]"""

SLOT_FIGURES: Final = 3
"""Figures of a slot. [-]"""

GAP_FIGURES: Final = 5
"""Figures of a gap. [-]"""


class SiteTable(NamedTuple):
    """Sites of a patch.

    Parameters
    ----------
    place : slot of each (sites,).
    kind : number of its type, or one beyond the last where none of that type may come (sites,).
    most : shims of it at most (sites,).
    bending, height : of one (sites,). [N m, m]
    """

    place: Ints
    kind: Ints
    most: Ints
    bending: Floats
    height: Floats


class SetTable(NamedTuple):
    """A shape as sets of shims are held against it.

    Parameters
    ----------
    leaving, coming : its sites.
    run, outer, kept : run, diameter [um] and number of shims kept of each slot (slots,).
    bending, height : of all shims kept in each (slots,). [N m, m]
    runs : number of runs.
    used, available : shims of each type that are kept, and that there are; no end of the last (types + 1,).
    base_height, least_height, most_height : of what is kept, and that a stack may have. [m]
    least_face : least diameter that covers the ports. [um]
    falls : whether no run may begin wider than all before it.
    least_crossover : least diameter of a crossover's shims, 0 for any. [um]
    clamp : diameter that the last shim has to have, 0 for any. [um]
    least_bending : added to sums of stiffness before their logarithm is taken. [N m]
    """

    leaving: SiteTable
    coming: SiteTable
    run: Ints
    outer: Ints
    kept: Ints
    bending: Floats
    height: Floats
    runs: int
    used: Ints
    available: Ints
    base_height: float
    least_height: float
    most_height: float
    least_face: int
    falls: bool
    least_crossover: int
    clamp: int
    least_bending: float


@PART
def _has_shims(
    outs: Places, ins: Places, k: int, leaving: Ints, most: Ints, coming: Ints, used: Ints, available: Ints
) -> bool:
    """Whether what leaves is there, and what comes is on the shelf or leaves, by their types."""
    for i in range(outs.shape[1]):
        if outs[k, i] >= 0:
            same = 0
            for other in range(outs.shape[1]):
                same += outs[k, other] == outs[k, i]
            if same > most[outs[k, i]]:
                return False
    for i in range(ins.shape[1]):
        if ins[k, i] >= 0:
            kind = coming[ins[k, i]]
            needed = used[kind]
            for other in range(ins.shape[1]):
                needed += ins[k, other] >= 0 and coming[ins[k, other]] == kind
            for other in range(outs.shape[1]):
                needed -= outs[k, other] >= 0 and leaving[outs[k, other]] == kind
            if needed > available[kind]:
                return False
    return True


@PART
def _count(outs: Places, ins: Places, k: int, leaving: Ints, coming: Ints, kept: Ints, count: Ints) -> None:
    """How many shims are in each slot; ``leaving``, ``coming`` are slots."""
    for place in range(count.size):
        count[place] = kept[place]
    for i in range(outs.shape[1]):
        if outs[k, i] >= 0:
            count[leaving[outs[k, i]]] -= 1
    for i in range(ins.shape[1]):
        if ins[k, i] >= 0:
            count[coming[ins[k, i]]] += 1


@PART
def _find_ends(count: Ints, run: Ints, outer: Ints, wide: Ints, narrow: Ints) -> None:
    """Widest and narrowest diameter of each run, 0 of an empty one; within a run slots fall. [um]"""
    for k in range(wide.size):
        wide[k] = narrow[k] = 0
    for place in range(count.size):
        if count[place] > 0:
            if wide[run[place]] == 0:
                wide[run[place]] = outer[place]
            narrow[run[place]] = outer[place]


@PART
def _rises(wide: Ints, narrow: Ints, falls: bool) -> bool:
    """Whether each run begins wider than the one before ends, and none wider than all before."""
    before = wide[0]
    for run in range(wide.size - 1):
        if narrow[run] == 0 or wide[run + 1] <= narrow[run] or (falls and wide[run + 1] > before):
            return False
        before = max(before, wide[run + 1])
    return True


@PART
def _crosses_wide(count: Ints, run: Ints, outer: Ints, last: int, least: int) -> bool:
    """Whether no shim before the last run is narrower than a crossover may be."""
    for place in range(count.size):
        if count[place] > 0 and run[place] < last and outer[place] < least:
            return False
    return True


@PART
def _is_shaped(
    count: Ints, run: Ints, outer: Ints, wide: Ints, narrow: Ints, least_face: int, clamp: int, falls: bool,
    least_crossover: int,
) -> bool:  # fmt: skip
    """Whether a stack begins and ends as it should and rises as often as its shape; finds where runs end."""
    _find_ends(count, run, outer, wide, narrow)
    last = wide.size - 1
    if wide[0] < least_face or (clamp and narrow[last] != clamp) or not _rises(wide, narrow, falls):
        return False
    return least_crossover == 0 or _crosses_wide(count, run, outer, last, least_crossover)


@ENTRY
def allowed_sets(outs: Places, ins: Places, table: SetTable, allowed: Flags) -> None:
    """Which sets have the shims, are as high as they may be, and rise as often as their shape (sets,)."""
    # a table passed on to a part would be copied for every set
    leaving, most, thin = table.leaving.kind, table.leaving.most, table.leaving.height
    coming, thick = table.coming.kind, table.coming.height
    leave, come, kept = table.leaving.place, table.coming.place, table.kept
    run, outer, used, available = table.run, table.outer, table.used, table.available
    count = np.empty(run.size, np.int64)
    wide, narrow = np.empty(table.runs, np.int64), np.empty(table.runs, np.int64)
    for k in range(outs.shape[0]):
        allowed[k] = False
        height = table.base_height
        for i in range(outs.shape[1]):
            if outs[k, i] >= 0:
                height -= thin[outs[k, i]]
        for i in range(ins.shape[1]):
            if ins[k, i] >= 0:
                height += thick[ins[k, i]]
        if not table.least_height - HEIGHT_ROUNDING <= height <= table.most_height + HEIGHT_ROUNDING:
            continue
        if not _has_shims(outs, ins, k, leaving, most, coming, used, available):
            continue
        _count(outs, ins, k, leave, come, kept, count)
        allowed[k] = _is_shaped(
            count, run, outer, wide, narrow, table.least_face, table.clamp, table.falls, table.least_crossover
        )


@ENTRY
def rising_sets(old: Ints, new: Ints, table: SetTable, rising: Flags) -> None:
    """Whether stacks rise as often as their shape, and begin and end as they should (sets of old, of new).

    Parameters
    ----------
    old, new : which slots are filled, one bit each (sets,).
    table : of the shape.
    rising : what is found.
    """
    run, outer = table.run, table.outer
    count = np.empty(run.size, np.int64)
    wide, narrow = np.empty(table.runs, np.int64), np.empty(table.runs, np.int64)
    for i in range(old.size):
        for j in range(new.size):
            for place in range(run.size):
                count[place] = ((old[i] | new[j]) >> place) & 1
            rising[i, j] = _is_shaped(
                count, run, outer, wide, narrow, table.least_face, table.clamp, table.falls,
                table.least_crossover,
            )  # fmt: skip


@ENTRY
def figures_of_sets(outs: Places, ins: Places, table: SetTable, figures: Floats) -> None:
    """What the force depends on, put into an array (sets, figures): see ``ShapeFigures.inputs``."""
    leave, less, thin = table.leaving.place, table.leaving.bending, table.leaving.height
    come, more, thick = table.coming.place, table.coming.bending, table.coming.height
    run, outer, kept, own, heights = table.run, table.outer, table.kept, table.bending, table.height
    slots = run.size
    count, gaps = np.empty(slots, np.int64), SLOT_FIGURES * slots
    wide, narrow = np.empty(table.runs, np.int64), np.empty(table.runs, np.int64)
    for k in range(outs.shape[0]):
        for place in range(slots):
            figures[k, place], figures[k, slots + place] = own[place], heights[place]
        for i in range(outs.shape[1]):
            if outs[k, i] >= 0:
                figures[k, leave[outs[k, i]]] -= less[outs[k, i]]
                figures[k, slots + leave[outs[k, i]]] -= thin[outs[k, i]]
        for i in range(ins.shape[1]):
            if ins[k, i] >= 0:
                figures[k, come[ins[k, i]]] += more[ins[k, i]]
                figures[k, slots + come[ins[k, i]]] += thick[ins[k, i]]
        together = table.least_bending
        for place in range(slots):
            together += figures[k, place]
            figures[k, 2 * slots + place] = log(together)
        _count(outs, ins, k, leave, come, kept, count)
        _find_ends(count, run, outer, wide, narrow)
        for gap in range(table.runs - 1):
            height, widest = 0.0, 0
            for place in range(slots):
                if run[place] == gap and count[place] > 0 and outer[place] < wide[gap + 1]:
                    height += figures[k, slots + place]
                    widest = max(widest, outer[place])
            first = gaps + GAP_FIGURES * gap
            figures[k, first], figures[k, first + 1] = height, log(max(height, MICROMETRE))
            figures[k, first + 2], figures[k, first + 3] = widest, widest * height
            figures[k, first + 4] = wide[gap + 1]
