"""Plates laid on a grid: their constants, and the state that they are in."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from damping_model.contact import Surroundings
from damping_model.grid import APART, lip_of, marked_radii, radial_grid
from damping_model.plate import grid_integrals, load_vector, plate_elements, stretching_integrals

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Plates(NamedTuple):
    """The plates' constants on a grid: see :func:`damping_model.plate.plate_elements`."""

    r: Floats
    present: Ints
    last: Ints
    face: int
    stretching: Floats
    stretch: Floats
    stiff: Floats
    slope: Floats
    angle: Floats
    load: Floats
    tilt: Floats


class State(NamedTuple):
    """One equilibrium: shapes, their change with pressure, forces, pressing points, lengths at rims."""

    q: Floats
    dq: Floats
    force: Floats
    active: Flags
    length: Floats


@njit(cache=True, nogil=True, error_model="numpy")
def lay_plates(
    clamp: float, nu: float, packs: Floats, thickness: float, radii: Floats, shares: Floats, around:
    Surroundings, elements: float,
) -> Plates:  # fmt: skip
    """Grid and plate constants of packs given as rows of radius, bending, stretching, shear, height."""
    rims = packs[:, 0].copy()
    face = int(np.argmax((packs[:, 1] > 0) & (rims > clamp + APART)))
    marks = marked_radii(clamp, rims, around.rings, around.seat_radius, around.backing_radius)
    r = radial_grid(clamp, marks, np.max(rims), elements, lip_of(clamp, packs, face, radii, shares))
    count, size = rims.size, r.size - 1
    last = np.zeros(count, np.int64)
    for k in range(count):
        if packs[k, 1] > 0 and rims[k] > clamp + APART:
            last[k] = np.argmin(np.abs(r - rims[k]))
    present = np.flatnonzero(last)
    stiff, slope = np.zeros((count, size, 4, 4)), np.zeros((count, size, 2, 4))
    angle = np.zeros((count, size, 4))
    load, tilt = np.zeros((size + 1, 2)), np.zeros((size, 4, 4))
    bend, area = grid_integrals(r, nu)
    for k in present[::-1]:
        plate_elements(r, last[k], packs[k, 1], packs[k, 3], bend, area, stiff[k], slope[k], angle[k])
    load_vector(r, last[face], radii, shares, angle[face], load, tilt)
    # height of the face pack's middle over that of its lowest shim
    offset = around.thick * max(0.0, 0.5 * (packs[face, 4] - thickness))
    tilt *= offset
    stretch = stretching_integrals(r, nu)
    return Plates(r, present, last, face, packs[:, 2].copy(), stretch, stiff, slope, angle, load, tilt)
