"""Steps on old factors: the last digits of an equilibrium at a quarter of a Newton step's work.

Close to the end the tangent hardly changes, so the plates' factors and the pressing points' matrix of the
last Newton step serve again. Only what is out of balance is found anew, at the shapes, forces and lengths
that the plates have got to, so the answer is the same.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Contacts, openings_of_points, place_points, spread_forces
from damping_model.plates.element import solve_plates
from damping_model.plates.jit import PART, WRITTEN_IN
from damping_model.plates.pivoting import push_on, push_through, solve_forces, wrong_points
from damping_model.plates.plate import Plates, State
from damping_model.plates.ties import tie_wedges
from damping_model.plates.workspace import Work

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_CHORDS: Final = 6
"""Steps on one set of factors."""

SHRINK: Final = 0.3
"""A step that is not this much shorter than the one before it asks for new factors. [-]"""

LIKELY: Final = 0.2
"""How much shorter the next step is taken to be at best. [-]"""

WEDGE: Final = 0.1
"""How far a dent may still move at the end, per tolerance and lift. [-]"""

STRETCH: Final = 0.6
"""Change of a length at a rim, as a share of it, that asks for new factors. [-]"""

LEFT: Final = 0.01
"""The steps that would follow the last, as a share of the tolerance. [-]"""


@PART
def inner_forces(
    m: int, q: Floats, stretching: float, stretch: Floats, stiff: Floats, slope: Floats, out: Floats
) -> None:
    """Take the inner forces of a plate at q (nodes, 3) off ``out``: those of :func:`plate.assemble`."""
    for e in range(m):
        n = e + 1
        w1, p1, u1, w2, p2, u2 = q[e, 0], q[e, 1], q[e, 2], q[n, 0], q[n, 1], q[n, 2]
        sa = slope[e, 0, 0] * w1 + slope[e, 0, 1] * p1 + slope[e, 0, 2] * w2 + slope[e, 0, 3] * p2
        sb = slope[e, 1, 0] * w1 + slope[e, 1, 1] * p1 + slope[e, 1, 2] * w2 + slope[e, 1, 3] * p2
        ea, eb = 0.5 * stretching * sa * sa, 0.5 * stretching * sb * sb
        u1, u2 = stretching * u1, stretching * u2
        na = stretch[e, 0, 0] * ea + stretch[e, 0, 1] * eb + stretch[e, 0, 2] * u1 + stretch[e, 0, 3] * u2
        nb = stretch[e, 1, 0] * ea + stretch[e, 1, 1] * eb + stretch[e, 1, 2] * u1 + stretch[e, 1, 3] * u2
        fa, fb = na * sa, nb * sb
        for i in range(2):
            out[e + i, 2] -= (
                stretch[e, 2 + i, 0] * ea + stretch[e, 2 + i, 1] * eb
                + stretch[e, 2 + i, 2] * u1 + stretch[e, 2 + i, 3] * u2
            )  # fmt: skip
        for i in range(4):
            out[e + i // 2, i % 2] -= (
                fa * slope[e, 0, i] + fb * slope[e, 1, i]
                + stiff[e, i, 0] * w1 + stiff[e, i, 1] * p1 + stiff[e, i, 2] * w2 + stiff[e, i, 3] * p2
            )  # fmt: skip


@PART
def refine(
    p: float, count: int, moved: float, state: State, plates: Plates, contacts: Contacts, soft: float,
    tight: float, work: Work,
) -> bool:  # fmt: skip
    """Go on from a Newton step of length ``moved`` with ``count`` rows; False: it asks for another."""
    q, force, length, last = state.q, state.force, state.length, plates.last
    d, x, pressing, angle = work.d, work.x, work.pressing, plates.angle
    for _ in range(MOST_CHORDS):
        place_points(q, length, contacts, angle, work.reach, work.dent, work.begin)
        openings_of_points(q, length, contacts, work.reach, work.gap)
        out_of_balance(p, count, state, plates, contacts, soft, work)
        answer(count, plates, work, d)
        step, size, biggest = 0.0, 0.0, 0.0
        for k in plates.present:
            for n in range(1, last[k] + 1):
                step = max(step, abs(d[k, n, 0]))
                size = max(size, abs(q[k, n, 0]))
        if not step < SHRINK * moved:
            return False
        for a in range(count):
            c = pressing[a]
            if c < force.size:
                force[c] += x[a]
                biggest = max(biggest, force[c])
        sound = wrong_points(biggest, tight, state.active, force, work) == 0
        for k in plates.present:
            for n in range(1, last[k] + 1):
                for i in range(3):
                    q[k, n, i] += d[k, n, i]
        found, change = spread_forces(q, force, contacts, angle, length, work.flips, WEDGE * tight * size)
        if not sound or change > STRETCH:
            return False
        if found and step * max(step / moved, LIKELY) <= LEFT * tight * size + 1e-14:
            return True
        moved = step
    return False


@WRITTEN_IN
def out_of_balance(
    p: float, count: int, state: State, plates: Plates, contacts: Contacts, soft: float, work: Work
) -> None:
    """Put the loads out of balance into ``work.load``, and add the pressing points' dents to ``work.gap``."""
    put_pressure(p, plates, work)
    q, last, load, stretching = state.q, plates.last, work.load, plates.stretching
    stretch, stiff, slope = plates.stretch, plates.stiff, plates.slope
    for k in plates.present:
        inner_forces(last[k], q[k], stretching[k], stretch, stiff[k], slope[k], load[k])
    tie_wedges(state.force, state.length, contacts, plates.angle, work)
    force, pressing, push, gap = state.force, work.pressing, work.push, work.gap
    for a in range(count):
        c = pressing[a]
        push[a] = 0.0
        if c < force.size:
            push[a] = force[c]
        else:
            gap[c] = 0.0
    lean_on(count, soft, work)


@PART
def put_pressure(p: float, plates: Plates, work: Work) -> None:
    """Put what the pressure pushes the plates with into ``work.load``."""
    load, push, last = work.load, plates.load, plates.last
    for k in plates.present:
        on = p if k == plates.face else 0.0
        for n in range(last[k] + 1):
            load[k, n, 0], load[k, n, 1], load[k, n, 2] = on * push[n, 0], on * push[n, 1], 0.0


@PART
def lean(p: float, plates: Plates) -> None:
    """Stiffen the face by the pressure, which acts on its face and not on its middle."""
    stiff, rest, tilt = plates.stiff, plates.rest, plates.tilt
    for e in range(rest.shape[0]):
        for i in range(4):
            for j in range(4):
                stiff[plates.face, e, i, j] = rest[e, i, j] + p * tilt[e, i, j]


@PART
def lean_on(count: int, soft: float, work: Work) -> None:
    """Add the forces ``work.push`` of the pressing rows to the loads, and the dents they make to the gaps."""
    pressing, push, gap, dent, own = work.pressing, work.push, work.gap, work.dent, work.own
    for a in range(count):
        c = pressing[a]
        gap[c] += (dent[c] + soft * own[c]) * push[a]
    push_on(count, push, work, work.load)


@PART
def step_along(present: Ints, last: Ints, d: Floats, q: Floats) -> tuple[float, float]:
    """Add a step d to shapes q, or to their change; most that the step lifts, and most lift with it."""
    moved, size = 0.0, 0.0
    for k in present:
        for n in range(1, last[k] + 1):
            moved = max(moved, abs(d[k, n, 0]))
            for i in range(3):
                q[k, n, i] += d[k, n, i]
            size = max(size, abs(q[k, n, 0]))
    return moved, size


@PART
def solve_free(plates: Plates, work: Work) -> None:
    """Displacements ``work.z`` that the loads ``work.load`` lead to without contact."""
    z, load, last = work.z, work.load, plates.last
    for k in plates.present:
        for n in range(1, last[k] + 1):
            for i in range(3):
                z[k, n, i] = load[k, n, i]
    solve_plates(plates.present, last, work.pull, work.inverse, z)


@PART
def answer(count: int, plates: Plates, work: Work, d: Floats) -> None:
    """Displacements d that the loads ``work.load`` lead to where the pressing rows close ``work.gap``."""
    solve_free(plates, work)
    solve_forces(count, work)
    push_through(count, plates.present, plates.last, work, d)
