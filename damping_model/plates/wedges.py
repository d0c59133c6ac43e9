"""Faces that meet at an angle at a rim: they press over a wedge, whose length follows from force and tilt.

With an overlap d at the rim, an indentation k by pressure and a tilt t the wedge is d/t long and presses with
a force per length of d^2/(2 k t), a third of the way in: equation (11). Its length grows with the root of
force over tilt, so its tangent (13) has a row for the tilt beside that for the force.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Contacts
from damping_model.plates.element import lift_shapes
from damping_model.plates.jit import UNCOUNTED, WRITTEN_IN
from damping_model.plates.workspace import Workspace

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_FLIPS: Final = 2
"""Times that a length may reach or leave its most before it goes half way."""


@WRITTEN_IN
def slope_at(q: Floats, plate: int, n: int, shear_angle: Floats) -> float:
    """Slope w' of a pack's middle at node n, just within it. [-]"""
    a = shear_angle[plate, n - 1]
    return float(
        q[plate, n, 1]
        + a[0] * q[plate, n - 1, 0]
        + a[1] * q[plate, n - 1, 1]
        + a[2] * q[plate, n, 0]
        + a[3] * q[plate, n, 1]
    )


@UNCOUNTED
def update_wedges(
    q: Floats, force: Floats, contacts: Contacts, shear_angle: Floats, length: Floats, flips: Ints, limit:
    float,
) -> tuple[bool, float]:  # fmt: skip
    """Find the lengths of the wedges at shapes and forces, (11), no longer than (12).

    Where a length goes to and fro between its most and less, which ``flips`` counts, it goes half way.

    Returns
    -------
    Whether no indentation moves by more than ``limit`` [m] any more; the greatest change of a length, as a
    share of it.
    """
    gaps, ends, edge = contacts.gaps, contacts.ends, contacts.edge
    found, change = True, 0.0
    for c in range(ends.shape[0]):
        if edge[c, 0] <= 0:
            continue
        n, old = ends[c, 2], length[c]
        if force[c] > 0:
            new = edge[c, 3]
            tilt = slope_at(q, ends[c, 0], n, shear_angle) - slope_at(q, ends[c, 1], n, shear_angle)
            wedge = 2 * edge[c, 2] * force[c] / edge[c, 0]
            if tilt * new * new > wedge:
                new = np.sqrt(wedge / tilt)
            if old > 0:
                new = min(max(new, 0.3 * old), 3 * old, edge[c, 3])
                flips[c] += (old < edge[c, 3]) != (new < edge[c, 3])
                if flips[c] > MOST_FLIPS:
                    new = 0.5 * (old + new)
            length[c] = new
            found = found and abs(new - old) * wedge <= limit * new * new
            change = max(change, abs(new - old) / new)
        elif old > 0:
            if gaps[c, 0] + q[ends[c, 1], n, 0] - q[ends[c, 0], n, 0] < -1e-11 and old > 1e-4 * edge[c, 1]:
                length[c] *= 0.25
                found = False
            else:
                length[c] = 0.0
            change = max(change, 1.0)
    return found, change


@UNCOUNTED
def linearise_wedges(
    force: Floats, length: Floats, contacts: Contacts, shear_angle: Floats, work: Workspace
) -> None:
    """Give the rows of a rim and its tie the tangent (13), once the forces are placed.

    The force that acts already stays where it is, a third of the length inwards, by a moment in the residual.
    """
    ends, edge, gradient, row_compliance = contacts.ends, contacts.edge, work.gradient, work.row_compliance
    tie, live, gap, first_node, residual = work.tie, work.live, work.gap, work.first_node, work.residual
    for c in range(ends.shape[0]):
        if edge[c, 0] <= 0:
            continue
        row, n = tie[c], ends[c, 2]
        live[row] = force[c] > 0 and 0 < length[c] < edge[c, 3]
        if not live[row]:
            continue
        third = lift_shapes(1 - length[c] / (3 * edge[c, 1]), edge[c, 1])
        half = lift_shapes(1 - length[c] / (2 * edge[c, 1]), edge[c, 1])
        gap[c] += row_compliance[c] * force[c]
        row_compliance[c] = edge[c, 2] / (length[c] * edge[c, 0])
        gap[c] -= row_compliance[c] * force[c]
        row_compliance[row], gap[row] = 12 * row_compliance[c] / length[c] ** 2, 0.0
        first_node[row] = max(1, n - 1)
        for side in range(2):
            plate, sign = ends[c, side], 2.0 * side - 1.0
            for j in range(4):
                angle = shear_angle[plate, n - 1, j]
                more = sign * (half[j] - third[j] + (half[4] - third[4]) * angle)
                gradient[c, side, j] += more
                residual[plate, n - 1 + j // 2, j % 2] -= more * force[c]
                gradient[row, side, j] = sign * (angle + (1.0 if j == 3 else 0.0))
