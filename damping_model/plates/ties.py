"""What goes with a point that presses, besides its force: the tilt of a wedge, the rotation of equal plates.

Each tie is a row of its own beside the points in a linear step, there whenever its point presses, whatever
its sign.

- A wedge at a rim answers to force and tilt: see :mod:`damping_model.plates.wedges`.
- Plates alike that lie on one another in the thin limit bend as one, also between the nodes. With forces at
  nodes alone the one under pressure would turn there and its neighbour not, so they share the rotation too.
  They are bonded: each takes its share by stiffness of every push on the others, so none of them could pull.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Contacts
from damping_model.plates.grid import alike_plates
from damping_model.plates.jit import PART, UNCOUNTED
from damping_model.plates.workspace import Workspace

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@PART
def tie_rows(contacts: Contacts, packs: Floats, thick: float) -> Ints:
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


@UNCOUNTED
def set_up_ties(contacts: Contacts, work: Workspace) -> None:
    """Fill in what does not change: the ends of all rows, and the ties of equal plates."""
    ends, gap, row_compliance, first_node = work.ends, work.gap, work.row_compliance, work.first_node
    of_points, edge, tie, gradient = contacts.ends, contacts.edge, work.tie, work.gradient
    live, bonded = work.live, work.bonded
    for c in range(tie.size):
        row = tie[c]
        for i in range(3):
            ends[c, i] = of_points[c, i]
        if row >= 0:
            for i in range(3):
                ends[row, i] = of_points[c, i]
            first_node[row], row_compliance[row], gap[row] = ends[c, 2], 0.0, 0.0
            live[row] = bonded[c] = edge[c, 0] <= 0
            gradient[row, 0, 3], gradient[row, 1, 3] = -1.0, 1.0
