"""Plates laid on a grid: their constants, and the state that they are in."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Surroundings
from damping_model.plates.element import grid_integrals, load_vector, plate_elements, stretching_integrals
from damping_model.plates.grid import APART, lip_of, marked_radii, nearest, radial_grid, widest
from damping_model.plates.jit import PART

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Plates(NamedTuple):
    """The plates' constants on a grid: see :func:`damping_model.plates.element.plate_elements`.

    ``stiff`` of the face is that under the pressure at hand, ``rest`` that without any.
    """

    r: Floats
    present: Ints
    last: Ints
    face: int
    stretching: Floats
    stretch: Floats
    stiff: Floats
    rest: Floats
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


@PART
def flat(count: int, nodes: int, points: int) -> State:
    """State of plates that nothing strains."""
    shape = (count, nodes, 3)
    return State(
        np.zeros(shape), np.zeros(shape), np.zeros(points), np.zeros(points, np.bool_), np.zeros(points)
    )


@PART
def lay_plates(
    clamp: float, nu: float, packs: Floats, thickness: float, radii: Floats, shares: Floats, around:
    Surroundings, elements: float,
) -> Plates:  # fmt: skip
    """Grid and plate constants of packs given as rows of radius, bending, stretching, shear, height."""
    rims = packs[:, 0].copy()
    marks = marked_radii(clamp, rims, around.rings, around.seat_radius, around.backing_radius)
    count, bends, present = rims.size, 0, np.empty(rims.size, np.int64)
    for pack in range(count):
        if packs[pack, 1] > 0 and rims[pack] > clamp + APART:
            present[bends] = pack
            bends += 1
    present, face = present[:bends].copy(), present[0]
    wide = widest(rims, 0)
    r = radial_grid(clamp, marks, wide, elements, lip_of(clamp, packs, wide, face, radii, shares))
    size, last = r.size - 1, np.zeros(count, np.int64)
    for k in present:
        last[k] = nearest(r, rims[k])
    stiff, slope = np.zeros((count, size, 4, 4)), np.zeros((count, size, 2, 4))
    angle = np.zeros((count, size, 4))
    load, tilt = np.zeros((size + 1, 2)), np.zeros((size, 4, 4))
    bend, area = grid_integrals(r, nu)
    for k in present:
        plate_elements(r, last[k], packs[k, 1], packs[k, 3], bend, area, stiff[k], slope[k], angle[k])
    load_vector(r, last[face], radii, shares, angle[face], load, tilt)
    # height of the face pack's middle over that of its lowest shim
    offset = around.thick * max(0.0, 0.5 * (packs[face, 4] - thickness))
    for e in range(size):
        for i in range(4):
            for j in range(4):
                tilt[e, i, j] *= offset
    stretch = stretching_integrals(r, nu)
    stretching, rest = packs[:, 2].copy(), stiff[face].copy()
    return Plates(r, present, last, face, stretching, stretch, stiff, rest, slope, angle, load, tilt)
