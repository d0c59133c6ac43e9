"""Openings of the contact points, equation (9), and their change with the plates' shapes.

With half heights h, a lower plate A that reaches further than the plate B on it, and rotations phi, the faces
are open by

    g = gap + w_B - w_A - (h_A + h_B)/2 phi_A^2 + h_B/2 (phi_A - phi_B)^2 ,

the last term at B's rim alone, whose corner bears on A; elsewhere faces in contact have one slope. The same
the other way round where B reaches further.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Contacts
from damping_model.plates.element import lift_shapes
from damping_model.plates.jit import UNCOUNTED, UNCOUNTED_ENTRY, WRITTEN_IN

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@WRITTEN_IN
def narrower_pack(c: int, ends: Ints) -> int:
    """Pack of a contact point whose rotation counts at its rim alone; the ground may be it."""
    return int(ends[c, 0] if ends[c, 3] == ends[c, 1] else ends[c, 1])


@WRITTEN_IN
def rotation_gradient(c: int, pack: int, q: Floats, ends: Ints, gaps: Floats) -> float:
    """Change of a contact point's opening (9) with the rotation of one of its packs. [m]"""
    n, wider = ends[c, 2], ends[c, 3]
    phi = q[wider, n, 1]
    apart = phi - q[narrower_pack(c, ends), n, 1] if gaps[c, 3] > 0 else 0.0
    if pack == wider:
        return float(-2 * gaps[c, 1] * phi + 2 * gaps[c, 3] * apart)
    return float(-2 * gaps[c, 3] * apart)


@UNCOUNTED_ENTRY
def openings(q: Floats, contacts: Contacts, out: Floats) -> None:
    """Fill in the opening of every contact point at the shapes q (packs, nodes, 3). [m]"""
    ends, gaps = contacts.ends, contacts.gaps
    for c in range(ends.shape[0]):
        n = ends[c, 2]
        phi = q[ends[c, 3], n, 1]
        gap = gaps[c, 0] - gaps[c, 1] * phi * phi
        if gaps[c, 3] > 0:
            gap += gaps[c, 3] * (phi - q[narrower_pack(c, ends), n, 1]) ** 2
        if ends[c, 1] >= 0:
            gap += q[ends[c, 1], n, 0]
        if ends[c, 0] >= 0:
            gap -= q[ends[c, 0], n, 0]
        out[c] = gap


@UNCOUNTED
def place_forces(
    q: Floats, length: Floats, contacts: Contacts, shear_angle: Floats, gradient: Floats,
    row_compliance: Floats, first_node: Ints,
) -> None:  # fmt: skip
    """Put every contact point where its force acts: a third of the wedge (11) inwards from a rim.

    Parameters
    ----------
    q : shapes.
    length : of the wedges; 0 where there is none. [m]
    contacts : the contact points.
    shear_angle : of the plates' elements: see :func:`damping_model.plates.element.plate_elements`.
    gradient : receives the change of the opening with lift and rotation at the node before and at the node
        itself, for the lower and the upper pack (points, 2, 4).
    row_compliance : receives the indentation by a force. [m rad/N]
    first_node : receives the first node that the force acts on.
    """
    ends, gaps, edge = contacts.ends, contacts.gaps, contacts.edge
    for c in range(ends.shape[0]):
        n, inwards = ends[c, 2], 0.0
        row_compliance[c], first_node[c] = gaps[c, 2], n
        if length[c] > 0:
            first_node[c] = max(1, n - 1)
            inwards = length[c] / (3 * edge[c, 1])
            row_compliance[c] = edge[c, 2] / (0.75 * length[c] * edge[c, 0])
        for side in range(2):
            plate = ends[c, side]
            if plate < 0:
                continue
            sign = 2.0 * side - 1.0
            if inwards > 0:
                shapes = lift_shapes(1 - inwards, edge[c, 1])
                for j in range(4):
                    gradient[c, side, j] = sign * (shapes[j] + shapes[4] * shear_angle[plate, n - 1, j])
            else:
                gradient[c, side, 2], gradient[c, side, 3] = sign, 0.0
            gradient[c, side, 3] += rotation_gradient(c, plate, q, ends, gaps)


@UNCOUNTED
def openings_at_forces(q: Floats, length: Floats, contacts: Contacts, gradient: Floats, out: Floats) -> None:
    """Fill in the opening of every contact point where :func:`place_forces` has put it. [m]"""
    openings(q, contacts, out)
    ends, gaps = contacts.ends, contacts.gaps
    for c in range(ends.shape[0]):
        if length[c] > 0:
            n = ends[c, 2]
            for side in range(2):
                plate = ends[c, side]
                sign = 2.0 * side - 1.0
                out[c] += (
                    gradient[c, side, 0] * q[plate, n - 1, 0]
                    + gradient[c, side, 1] * q[plate, n - 1, 1]
                    + (gradient[c, side, 2] - sign) * q[plate, n, 0]
                    + (gradient[c, side, 3] - rotation_gradient(c, plate, q, ends, gaps)) * q[plate, n, 1]
                )
