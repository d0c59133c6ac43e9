"""How an equilibrium changes with pressure, on the factors that the way to it left."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Contacts
from damping_model.plates.jit import PART, WRITTEN_IN
from damping_model.plates.modified_newton import answer, lean_on, put_pressure, step_along
from damping_model.plates.plate import Plates, State
from damping_model.plates.workspace import Work

Floats = NDArray[np.float64]

SLOPE_END: Final = 1e-2
"""Last correction of the change with pressure, as a share of it; the next would be far smaller. [-]"""

MOST_CORRECTIONS: Final = 3
"""Corrections that together cost less than new factors."""

FAR_OFF: Final = 0.2
"""A first correction beyond this asks for new factors instead of another. [-]"""


@PART
def slope_from(count: int, state: State, plates: Plates, work: Work) -> None:
    """Change of the shapes with pressure, from the factors that the last step left."""
    put_pressure(1.0, plates, work)
    lean_back(plates, state.q, work.load)
    gap, pressing = work.gap, work.pressing
    for a in range(count):
        gap[pressing[a]] = 0.0
    answer(count, plates, work, state.dq)


@PART
def better_slope(
    count: int, state: State, plates: Plates, contacts: Contacts, soft: float, work: Work
) -> bool:
    """Correct what :func:`slope_from` found on old factors; False: it asks for new ones."""
    push, x = work.push, work.x
    for a in range(count):
        push[a] = x[a]
    for _ in range(MOST_CORRECTIONS):
        share = correct_slope(count, state, plates, contacts, soft, work)
        if share <= SLOPE_END:
            return True
        if not share < FAR_OFF:
            return False
    return False


@WRITTEN_IN
def correct_slope(
    count: int, state: State, plates: Plates, contacts: Contacts, soft: float, work: Work
) -> float:
    """Better the change with pressure that old factors gave: ``state.dq``, and ``work.push`` for the forces.

    Returns
    -------
    How much it changed, as a share of the change with pressure.
    """
    ends, reach, begin, pressing = work.ends, work.reach, work.begin, work.pressing
    d, x, push, load, gap = work.d, work.x, work.push, work.load, work.gap
    dq, force, gaps, wider = state.dq, state.force, contacts.gaps, contacts.ends
    put_pressure(1.0, plates, work)
    lean_back(plates, state.q, load)
    q, last, stretching = state.q, plates.last, plates.stretching
    stretch, stiff, slope = plates.stretch, plates.stiff, plates.slope
    for k in plates.present:
        inner_changes(last[k], q[k], dq[k], stretching[k], stretch, stiff[k], slope[k], load[k])
    for a in range(count):
        c = pressing[a]
        n = ends[c, 2]
        if c < force.size:
            wide = wider[c, 3]
            load[wide, n, 1] -= 2 * gaps[c, 1] * force[c] * dq[wide, n, 1]
        opening = 0.0
        for side in range(2):
            plate = ends[c, side]
            if plate >= 0:
                opening += reach[c, side, 2] * dq[plate, n, 0] + reach[c, side, 3] * dq[plate, n, 1]
                if begin[c] < n:
                    opening += (
                        reach[c, side, 0] * dq[plate, n - 1, 0] + reach[c, side, 1] * dq[plate, n - 1, 1]
                    )
        gap[c] = opening
    lean_on(count, soft, work)
    answer(count, plates, work, d)
    for a in range(count):
        push[a] += x[a]
    moved, size = step_along(plates.present, last, d, dq)
    return moved / size


@PART
def lean_back(plates: Plates, q: Floats, load: Floats) -> None:
    """Take off a unit pressure's load what the face's tilt takes off it."""
    face, tilt = plates.face, plates.tilt
    for e in range(plates.last[face]):
        for i in range(4):
            v = 0.0
            for j in range(4):
                v += tilt[e, i, j] * q[face, e + j // 2, j % 2]
            load[face, e + i // 2, i % 2] -= v


@PART
def inner_changes(
    m: int, q: Floats, dq: Floats, stretching: float, stretch: Floats, stiff: Floats, slope: Floats, out:
    Floats,
) -> None:  # fmt: skip
    """Take the change of a plate's inner forces with q along dq (nodes, 3) off ``out``."""
    for e in range(m):
        n = e + 1
        sa, sb, va, vb = 0.0, 0.0, 0.0, 0.0
        for i in range(4):
            a, b = q[e + i // 2, i % 2], dq[e + i // 2, i % 2]
            sa, sb = sa + slope[e, 0, i] * a, sb + slope[e, 1, i] * a
            va, vb = va + slope[e, 0, i] * b, vb + slope[e, 1, i] * b
        ea, eb = 0.5 * stretching * sa * sa, 0.5 * stretching * sb * sb
        u1, u2 = stretching * q[e, 2], stretching * q[n, 2]
        na = stretch[e, 0, 0] * ea + stretch[e, 0, 1] * eb + stretch[e, 0, 2] * u1 + stretch[e, 0, 3] * u2
        nb = stretch[e, 1, 0] * ea + stretch[e, 1, 1] * eb + stretch[e, 1, 2] * u1 + stretch[e, 1, 3] * u2
        ea, eb = stretching * sa * va, stretching * sb * vb
        u1, u2 = stretching * dq[e, 2], stretching * dq[n, 2]
        da = stretch[e, 0, 0] * ea + stretch[e, 0, 1] * eb + stretch[e, 0, 2] * u1 + stretch[e, 0, 3] * u2
        db = stretch[e, 1, 0] * ea + stretch[e, 1, 1] * eb + stretch[e, 1, 2] * u1 + stretch[e, 1, 3] * u2
        for i in range(2):
            out[e + i, 2] -= (
                stretch[e, 2 + i, 0] * ea + stretch[e, 2 + i, 1] * eb
                + stretch[e, 2 + i, 2] * u1 + stretch[e, 2 + i, 3] * u2
            )  # fmt: skip
        da, db = da * sa + na * va, db * sb + nb * vb
        for i in range(4):
            out[e + i // 2, i % 2] -= (
                da * slope[e, 0, i] + db * slope[e, 1, i]
                + stiff[e, i, 0] * dq[e, 0] + stiff[e, i, 1] * dq[e, 1]
                + stiff[e, i, 2] * dq[n, 0] + stiff[e, i, 3] * dq[n, 1]
            )  # fmt: skip
