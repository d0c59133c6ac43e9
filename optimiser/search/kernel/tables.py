"""Shapes and families as plain arrays, which compiled code takes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.units import MICROMETRE

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

PLACE: Final = 0
THIN: Final = 1
THICK: Final = 5
COLUMNS: Final = 9
"""Columns of a span: its slot, then the properties of its thinnest shim and those of its thickest. [-]"""

BENDING: Final = 0
STRETCHING: Final = 1
SHEAR_COMPLIANCE: Final = 2
HEIGHT: Final = 3
"""Properties of a plate, in their order. [-]"""


class SlotTable(NamedTuple):
    """The slots of a shape.

    Parameters
    ----------
    run : of falling diameters that each belongs to (slots,).
    outer : diameters (slots,). [um]
    radius : half of them (slots,). [m]
    kept : shims kept in each (slots,).
    whole : properties of all of those together (slots, 4).
    heights : of each of them, in the order that they lie in, then zero (slots, most shims and one). [m]
    runs : number of runs.
    least_face : least diameter that covers the ports. [um]
    clamp_radius : a pack no wider is height and nothing else. [m]
    """

    run: Ints
    outer: Ints
    radius: Floats
    kept: Ints
    whole: Floats
    heights: Floats
    runs: int
    least_face: int
    clamp_radius: float


class MoveTable(NamedTuple):
    """What leaves a shape's slots and what comes into them, patch by patch, those that leave first.

    Parameters
    ----------
    spans : one row for each slot of each patch (spans, :data:`COLUMNS`).
    begin : row where each patch begins, and the end (patches + 1,).
    counts : shims that leave each patch or come into it (patches,).
    single : whether a patch is one type at one place (patches,).
    outs : how many of the patches shims leave.
    """

    spans: Floats
    begin: Ints
    counts: Ints
    single: Flags
    outs: int


def slot_table(
    *,
    run: Sequence[int],
    outer: Sequence[int],
    properties: Sequence[Sequence[tuple[float, float, float, float]]],
    runs: int,
    least_face: int,
    clamp_radius: float,
) -> SlotTable:
    """Slots from the piston outwards, with the ``properties`` of each shim that is kept in each of them."""
    heights = np.zeros((len(run), 1 + max(map(len, properties), default=0)))
    whole = np.zeros((len(run), 4))
    for place, kept in enumerate(properties):
        for number, one in enumerate(kept):
            heights[place, number] = one[HEIGHT]
            whole[place] += one
    return SlotTable(
        np.array(run, dtype=np.int64),
        np.array(outer, dtype=np.int64),
        np.array([one * MICROMETRE / 2 for one in outer]),
        np.array([len(kept) for kept in properties], dtype=np.int64),
        whole,
        heights,
        runs,
        least_face,
        clamp_radius,
    )


NO_SPANS: Final = np.zeros((0, COLUMNS))
"""Of families in which nothing moves."""


def move_table(
    spans: Sequence[Floats], counts: Sequence[int], single: Sequence[bool], *, outs: int
) -> MoveTable:
    """Spans, shims and whether it is a single site, patch by patch; shims leave the first ``outs``."""
    return MoveTable(
        np.concatenate(spans) if spans else NO_SPANS,
        np.array([0, *accumulate(map(len, spans))], dtype=np.int64),
        np.array(counts, dtype=np.int64),
        np.array(single, dtype=np.bool_),
        outs,
    )
