"""One equilibrium of plates as arrays."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import PART, UNCOUNTED

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


class State(NamedTuple):
    """One equilibrium, or as many as there are pressures, with their number in front of each shape.

    Parameters
    ----------
    q : lift [m], rotation [rad] and radial displacement [m] (packs, nodes, 3).
    dq : their change with pressure, likewise. [1/Pa]
    force : of each contact point (points,). [N/rad]
    active : whether it presses (points,).
    length : over which faces press from a rim inwards (points,). [m]
    """

    q: Floats
    dq: Floats
    force: Floats
    active: Flags
    length: Floats


@PART
def unstrained(packs: int, nodes: int, points: int) -> State:
    """State of plates that nothing strains."""
    shape = (packs, nodes, 3)
    return State(
        q=np.zeros(shape),
        dq=np.zeros(shape),
        force=np.zeros(points),
        active=np.zeros(points, np.bool_),
        length=np.zeros(points),
    )


@UNCOUNTED
def copy_state(source: State, target: State) -> None:
    """Copy one state over another."""
    q, dq, force, active, length = target
    q0, dq0, force0, active0, length0 = source
    for k in range(q.shape[0]):
        for n in range(q.shape[1]):
            for i in range(3):
                q[k, n, i], dq[k, n, i] = q0[k, n, i], dq0[k, n, i]
    for c in range(force.size):
        force[c], active[c], length[c] = force0[c], active0[c], length0[c]
