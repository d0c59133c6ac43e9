"""Nodes along the radius that all plates of a stack share."""

from __future__ import annotations

from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NEAR_RIM: Final = (0.04e-3, 0.12e-3)
"""Extra nodes this far within a crossover's rim, where wider packs squeeze it. [m]"""

FINEST: Final = 0.4
"""Size of an element at the clamp as a share of the size further out. [-]"""

APART: Final = 1e-9
"""Nodes closer than this are one. [m]"""


@njit(cache=True, nogil=True, error_model="numpy")
def marked_radii(rims: Floats, rings: Floats, seat_radius: float, backing_radius: float) -> Floats:
    """Radii that must be nodes: rims, rings, seat, washer, and a few just within each crossover's rim."""
    count = rims.size
    marks = np.empty(count * (1 + len(NEAR_RIM)) + 2 * rings.shape[0] + 2)
    marks[:count] = rims
    marks[count], marks[count + 1] = seat_radius, backing_radius
    made = count + 2
    for k in range(rings.shape[0]):
        marks[made], marks[made + 1] = rings[k, 1], rings[k, 2]
        made += 2
    before = rims[0]
    for k in range(1, count - 1):
        if rims[k] < min(before, np.max(rims[k + 1 :])) - APART:
            for inwards in NEAR_RIM:
                marks[made] = rims[k] - inwards
                made += 1
        before = max(before, rims[k])
    return marks[:made]


@njit(cache=True, nogil=True, error_model="numpy")
def radial_grid(clamp: float, marks: Floats, widest: float, elements: float) -> Floats:
    """Nodes from the clamp to the widest rim through all marks between, finer near the clamp.

    Parameters
    ----------
    marks : radii that must be nodes, in any order; those outside are left out. [m]
    elements : number of elements of equal size that the whole width would take.
    """
    at = np.sort(marks)
    size = (widest - clamp) / elements
    r = np.empty(2 * at.size + 8 * int(np.ceil(elements)) + 8)
    r[0] = clamp
    n = 0
    for mark in at:
        if not r[n] + APART < mark <= widest + APART:
            continue
        begin = r[n]
        local = size * min(1.0, FINEST + 0.3 * (0.5 * (begin + mark) - clamp) / size)
        parts = max(1, int(np.ceil((mark - begin) / local - 0.5)))
        for j in range(1, parts + 1):
            r[n + j] = begin + (mark - begin) * j / parts
        n += parts
    return r[: n + 1].copy()
