"""What the valve reads off the equilibria: lift of the face shim's lower face, equation (18)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Surroundings
from damping_model.plates.grid import nearest
from damping_model.plates.jit import WRITTEN_IN
from damping_model.plates.plate import Plates
from damping_model.plates.state import State

Floats = NDArray[np.float64]


@WRITTEN_IN
def face_lift(
    states: State, plates: Plates, around: Surroundings, height: float, thickness: float
) -> tuple[Floats, Floats, Floats]:
    """Lift at the seat, its change with pressure, and the rise at the rim, of the face shim's lower face.

    For a seat at a place on the lip, else at a place on the shim.

    Parameters
    ----------
    states : equilibria at all pressures.
    plates, around : the plates and what holds them.
    height, thickness : of the face pack, and of the shim that lies on the piston. [m]
    """
    on_shim = 0.25 * around.thick * (height - 2 * thickness)
    on_lip = 0.25 * around.thick * height if around.has_seat > 0 else on_shim
    size, at, rim = states.q.shape[0], nearest(plates.r, around.seat_radius), plates.last[plates.face]
    lift, slope, edge = np.empty(size), np.empty(size), np.empty(size)
    for j in range(size):
        shape, change = states.q[j, plates.face], states.dq[j, plates.face]
        lift[j] = shape[at, 0] - on_lip * shape[at, 1] ** 2
        slope[j] = change[at, 0] - 2 * on_lip * shape[at, 1] * change[at, 1]
        if around.has_seat > 0:
            # the seat is the first of the contact points
            lift[j] = 0.0 if states.force[j, 0] > 0 else max(lift[j] - around.seat_height, 0.0)
        edge[j] = shape[rim, 0] - on_shim * shape[rim, 1] ** 2
    return lift, slope, edge
