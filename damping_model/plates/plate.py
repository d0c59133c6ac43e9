"""The plates of a stack on their grid: constants that every step of a lift curve shares."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Surroundings
from damping_model.plates.element import grid_integrals, load_vector, membrane_integrals, plate_elements
from damping_model.plates.grid import APART, lip_of, marked_radii, nearest, radial_grid, widest
from damping_model.plates.jit import ENTRY

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Plates(NamedTuple):
    """The plates' constants on a grid: see :func:`damping_model.plates.element.plate_elements`.

    Parameters
    ----------
    r : nodes. [m]
    present : packs that bend, by place.
    last : last node of each pack, 0 for one that does not bend (packs,).
    face : place of the face pack.
    stretching : C of each pack (packs,). [N/m]
    membrane_matrix : at C = 1, the same for all packs (elements, 4, 4).
    stiff : bending matrices (packs, elements, 4, 4); the face's at the pressure at hand.
    bare_face : the face's without pressure (elements, 4, 4).
    slope, shear_angle : of each pack's elements (packs, elements, 2, 4) and (packs, elements, 4).
    load, tilt : of a unit pressure on the face, the two terms of (8): (nodes, 2) and (elements, 4, 4).
    """

    r: Floats
    present: Ints
    last: Ints
    face: int
    stretching: Floats
    membrane_matrix: Floats
    stiff: Floats
    bare_face: Floats
    slope: Floats
    shear_angle: Floats
    load: Floats
    tilt: Floats


@ENTRY
def build_plates(
    clamp: float, nu: float, packs: Floats, thickness: float, radii: Floats, shares: Floats, around:
    Surroundings, elements: float,
) -> Plates:  # fmt: skip
    """Grid and plate constants of packs given as rows of radius, bending, stretching, shear, height.

    Parameters
    ----------
    clamp : radius within which nothing moves. [m]
    nu : Poisson's ratio.
    packs : from the piston outwards (packs, 5).
    thickness : of the shim that lies on the piston. [m]
    radii, shares : pressure on the face.
    around : what holds the plates.
    elements : elements of equal size that clamp to rim would take.
    """
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
    shear_angle = np.zeros((count, size, 4))
    load, tilt = np.zeros((size + 1, 2)), np.zeros((size, 4, 4))
    bend, area = grid_integrals(r, nu)
    for k in present:
        plate_elements(r, last[k], packs[k, 1], packs[k, 3], bend, area, stiff[k], slope[k], shear_angle[k])
    load_vector(r, last[face], radii, shares, shear_angle[face], load, tilt)
    # (8): height o of the face pack's middle over that of its lowest shim
    offset = around.thick * max(0.0, 0.5 * (packs[face, 4] - thickness))
    for e in range(size):
        for i in range(4):
            for j in range(4):
                tilt[e, i, j] *= offset
    return Plates(
        r=r,
        present=present,
        last=last,
        face=face,
        stretching=packs[:, 2].copy(),
        membrane_matrix=membrane_integrals(r, nu),
        stiff=stiff,
        bare_face=stiff[face].copy(),
        slope=slope,
        shear_angle=shear_angle,
        load=load,
        tilt=tilt,
    )
