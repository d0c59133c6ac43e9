"""What goes with a point that presses, besides its force: the tilt of a wedge, the rotation of equal plates.

Each is a row of its own beside the points in a linear step, there whenever its point presses, whatever its
sign.

- Faces that meet at a rim press over a wedge, whose length grows with the root of force over tilt. Overlap
  and tilt store energy in it, with (r L/g) (1, -L/2; -L/2, L^2/3) for its second derivatives. Half the length
  inwards the two part: the force gives by g/(r L) there, and the tilt by 12 g/(r L^3).
- Plates alike that lie on one another in the thin limit bend as one, also between the nodes. With forces at
  nodes alone the one under pressure would turn there and its neighbour not, so they share the rotation too.
  They are bonded: each takes its share by stiffness of every push on the others, so none of them could pull.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Contacts
from damping_model.plates.element import lift_shapes
from damping_model.plates.grid import alike_plates
from damping_model.plates.jit import PART
from damping_model.plates.workspace import Work

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@PART
def tied_points(contacts: Contacts, packs: Floats, thick: float) -> Ints:
    """Row that goes with each contact point, counted on from the points; -1 for none."""
    ends, gaps, edge = contacts.ends, contacts.gaps, contacts.edge
    tie = np.empty(ends.shape[0], np.int64)
    row = ends.shape[0]
    for c in range(ends.shape[0]):
        a, b, tie[c] = ends[c, 0], ends[c, 1], -1
        if a < 0 or b < 0:
            continue
        if edge[c, 0] > 0 or (thick == 0 and gaps[c, 0] == 0 and alike_plates(packs, a, b)):
            tie[c] = row
            row += 1
    return tie


@PART
def lay_ties(contacts: Contacts, work: Work) -> None:
    """Fill in what does not change: the ends of all rows, and the ties of equal plates."""
    ends, gap, dent, begin, reach = work.ends, work.gap, work.dent, work.begin, work.reach
    from_points, edge, tie = contacts.ends, contacts.edge, work.tie
    live, bonded = work.live, work.bonded
    for c in range(tie.size):
        row = tie[c]
        for i in range(3):
            ends[c, i] = from_points[c, i]
        if row >= 0:
            for i in range(3):
                ends[row, i] = from_points[c, i]
            begin[row], dent[row], gap[row] = ends[c, 2], 0.0, 0.0
            live[row] = bonded[c] = edge[c, 0] <= 0
            reach[row, 0, 3], reach[row, 1, 3] = -1.0, 1.0


@PART
def tie_wedges(force: Floats, length: Floats, contacts: Contacts, angle: Floats, work: Work) -> None:
    """Make rims answer to force and tilt as their wedges do, once :func:`place_points` has put them.

    The force that is there already stays where it is, a third of the length inwards, by a moment in
    ``work.load``.
    """
    ends, edge, reach, dent = contacts.ends, contacts.edge, work.reach, work.dent
    tie, live, gap, begin, load = work.tie, work.live, work.gap, work.begin, work.load
    for c in range(ends.shape[0]):
        if edge[c, 0] <= 0:
            continue
        row, n = tie[c], ends[c, 2]
        live[row] = force[c] > 0 and 0 < length[c] < edge[c, 3]
        if not live[row]:
            continue
        there = lift_shapes(1 - length[c] / (3 * edge[c, 1]), edge[c, 1])
        here = lift_shapes(1 - length[c] / (2 * edge[c, 1]), edge[c, 1])
        gap[c] += dent[c] * force[c]
        dent[c] = edge[c, 2] / (length[c] * edge[c, 0])
        gap[c] -= dent[c] * force[c]
        dent[row], gap[row] = 12 * dent[c] / length[c] ** 2, 0.0
        begin[row] = max(1, n - 1)
        for side in range(2):
            plate, sign = ends[c, side], 2.0 * side - 1.0
            for j in range(4):
                turn = angle[plate, n - 1, j]
                more = sign * (here[j] - there[j] + (here[4] - there[4]) * turn)
                reach[c, side, j] += more
                load[plate, n - 1 + j // 2, j % 2] -= more * force[c]
                reach[row, side, j] = sign * (turn + (1.0 if j == 3 else 0.0))
