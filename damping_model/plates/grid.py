"""Nodes along the radius that all plates of a stack share."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import PART, UNCOUNTED

Floats = NDArray[np.float64]

NEAR_RIM: Final = (0.05e-3, 0.14e-3)
"""Extra nodes this far within a crossover's rim, where wider packs squeeze it. [m]"""

FINEST: Final = 0.4
"""Size of an element at the clamp as a share of the size further out. [-]"""

GROWTH: Final = 0.17
"""Growth of the elements with distance from the clamp, up to their full size. [-]"""

BEYOND_RIM: Final = 0.12e-3
"""An extra node this far beyond the rim of a short crossover. [m]"""

SHORT: Final = 0.25
"""Overhang of a short crossover as a share of the widest shim's. [-]"""

ZONE: Final = 0.12
"""Where elements at the lip begin, inwards from the end of full pressure, as a share of the width. [-]"""

LIP: Final = 0.06
"""Where they end, outwards from the end of all pressure, as a share of the width. [-]"""

SOFT: Final = 1.7
"""Their size for a face pack as stiff as the whole stack, as a share of the size elsewhere. [-]"""

APART: Final = 1e-9
"""Nodes closer than this are one. [m]"""


@UNCOUNTED
def nearest(r: Floats, radius: float) -> int:
    """Node nearest to a radius."""
    at = 0
    for n in range(r.size):
        if abs(r[n] - radius) < abs(r[at] - radius):
            at = n
    return at


@UNCOUNTED
def widest(rims: Floats, first: int) -> float:
    """Widest rim from the first on. [m]"""
    found = rims[first]
    for k in range(first, rims.size):
        found = max(found, rims[k])
    return float(found)


@PART
def marked_radii(
    clamp: float, rims: Floats, rings: Floats, seat_radius: float, backing_radius: float
) -> Floats:
    """Radii that must be nodes: rims, rings, seat, washer, and a few just within each crossover's rim."""
    count = rims.size
    marks = np.empty(count * (2 + len(NEAR_RIM)) + 2 * rings.shape[0] + 2)
    for k in range(count):
        marks[k] = rims[k]
    marks[count], marks[count + 1] = seat_radius, backing_radius
    made = count + 2
    for k in range(rings.shape[0]):
        marks[made], marks[made + 1] = rings[k, 1], rings[k, 2]
        made += 2
    before = rims[0]
    for k in range(1, count - 1):
        if rims[k] < min(before, widest(rims, k + 1)) - APART:
            for inwards in NEAR_RIM:
                marks[made] = rims[k] - inwards
                made += 1
            if rims[k] - clamp < SHORT * (widest(rims, 0) - clamp):
                marks[made] = rims[k] + BEYOND_RIM
                made += 1
        before = max(before, rims[k])
    return marks[:made]


@UNCOUNTED
def alike_plates(packs: Floats, a: int, b: int) -> bool:
    """Whether two packs are of shims of one diameter and thickness, by their bending over stretching."""
    one, other = packs[a, 1] * packs[b, 2], packs[b, 1] * packs[a, 2]
    return bool(abs(packs[a, 0] - packs[b, 0]) <= APART and abs(one - other) <= 1e-9 * one)


@UNCOUNTED
def lip_of(
    clamp: float, packs: Floats, wide: float, face: int, radii: Floats, shares: Floats
) -> tuple[float, float, float]:
    """Where a soft face pack parts from the rest to bend over the lip, and the size of elements there.

    The face pack is all shims like the face shim that follow it, whether they are one plate here or several.
    """
    total, soft, width = 0.0, 0.0, wide - clamp
    alike = True
    for k in range(packs.shape[0]):
        if packs[k, 0] > clamp + APART:
            total += packs[k, 1]
        if k >= face and alike:
            alike = alike_plates(packs, face, k)
            soft += packs[k, 1] if alike else 0.0
    full = radii.size - 1
    while full > 0 and shares[full] <= 0:
        full -= 1
    size = SOFT * np.sqrt(np.sqrt(soft / total))
    return radii[full] - ZONE * width, radii[-1] + LIP * width, size


@PART
def in_order(marks: Floats) -> Floats:
    """The same, rising; for a few dozen."""
    out = marks.copy()
    for k in range(1, out.size):
        mark, to = out[k], k
        while to > 0 and out[to - 1] > mark:
            out[to] = out[to - 1]
            to -= 1
        out[to] = mark
    return out


@PART
def radial_grid(
    clamp: float, marks: Floats, widest: float, elements: float, lip: tuple[float, float, float]
) -> Floats:
    """Nodes from the clamp to the widest rim through all marks between, finer near the clamp.

    Parameters
    ----------
    marks : radii that must be nodes, in any order; those outside are left out. [m]
    elements : number of elements of equal size that the whole width would take.
    lip : radii between which elements are smaller, and how small in shares of that size.
    """
    at = in_order(marks)
    size = (widest - clamp) / elements
    r = np.empty(2 * at.size + 8 * int(np.ceil(elements / min(1.0, lip[2]))) + 8)
    r[0] = clamp
    n = 0
    for mark in at:
        if not r[n] + APART < mark <= widest + APART:
            continue
        begin = r[n]
        local = size * min(1.0, FINEST + GROWTH * (0.5 * (begin + mark) - clamp) / size)
        if begin < lip[1] and mark > lip[0]:
            local = min(local, size * lip[2])
        parts = max(1, int(np.ceil((mark - begin) / local - 0.5)))
        for j in range(1, parts + 1):
            r[n + j] = begin + (mark - begin) * j / parts
        n += parts
    return r[: n + 1].copy()
