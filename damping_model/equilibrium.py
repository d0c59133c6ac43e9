"""Plates followed from pressure to pressure: Newton with contact, one compiled call for a curve."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from damping_model.contact import (
    Contacts,
    Surroundings,
    contact_points,
    openings_of_points,
    place_points,
    spread_forces,
)
from damping_model.grid import APART, lip_of, marked_radii, radial_grid
from damping_model.plate import (
    assemble,
    backward,
    factor,
    forward,
    grid_integrals,
    load_vector,
    plate_elements,
    whole_blocks,
)
from damping_model.pressing import FAILED, Work, press, push_through, solve_forces, work_space

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

MOST_STEPS: Final = 30
"""Newton steps at one pressure before the way to it is halved."""

EARLY_STEPS: Final = 6
"""Newton steps that need not settle which points press."""

LENGTH_STEPS: Final = 14
"""Newton steps after which the lengths that rims press over stay as they are."""

MOST_HALVINGS: Final = 12
"""Times that the way to one pressure may be halved before the stack is called unsolved."""


class Plates(NamedTuple):
    """The plates' constants on a grid: see :func:`damping_model.plate.plate_elements`."""

    r: Floats
    present: Ints
    last: Ints
    face: int
    nu: float
    stretching: Floats
    stiff: Floats
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


class Path(NamedTuple):
    """All equilibria; ``steps`` is 0 from the first pressure on that was not reached."""

    r: Floats
    last: Ints
    contacts: Contacts
    states: State
    steps: Ints


@njit(cache=True, nogil=True, error_model="numpy")
def lay_plates(
    clamp: float, nu: float, packs: Floats, offset: float, radii: Floats, shares: Floats, around:
    Surroundings, elements: float,
) -> Plates:  # fmt: skip
    """Grid and plate constants of packs given as rows of radius, bending, stretching, shear, height."""
    rims = packs[:, 0].copy()
    face = int(np.argmax((packs[:, 1] > 0) & (rims > clamp + APART)))
    marks = marked_radii(clamp, rims, around.rings, around.seat_radius, around.backing_radius)
    r = radial_grid(clamp, marks, np.max(rims), elements, lip_of(clamp, packs, face, radii, shares))
    count, size = rims.size, r.size - 1
    last = np.zeros(count, np.int64)
    for k in range(count):
        if packs[k, 1] > 0 and rims[k] > clamp + APART:
            last[k] = np.argmin(np.abs(r - rims[k]))
    present = np.flatnonzero(last)
    stiff, slope = np.zeros((count, size, 4, 4)), np.zeros((count, size, 2, 4))
    angle = np.zeros((count, size, 4))
    load, tilt = np.zeros((size + 1, 2)), np.zeros((size, 4, 4))
    bend, area = grid_integrals(r, nu)
    for k in present[::-1]:
        plate_elements(r, last[k], packs[k, 1], packs[k, 3], bend, area, stiff[k], slope[k], angle[k])
    load_vector(r, last[face], radii, shares, angle[face], load, tilt)
    return Plates(r, present, last, face, nu, packs[:, 2].copy(), stiff, slope, angle, load, offset * tilt)


@njit(cache=True, nogil=True, error_model="numpy")
def solve_free(p: float, q: Floats, plates: Plates, work: Work, at_rest: bool) -> None:
    """Put the loads out of balance, or with ``at_rest`` the pressure's alone, into ``work.load``.

    ``work.z`` receives the displacements that they lead to without contact.
    """
    for k in plates.present:
        load, z = work.load[k], work.z[k]
        for n in range(1, plates.last[k] + 1):
            for i in range(3):
                load[n, i] = 0.0 if at_rest else -work.inner[k, n, i]
            if k == plates.face:
                load[n, 0] += p * plates.load[n, 0]
                load[n, 1] += p * plates.load[n, 1]
        if at_rest and k == plates.face:
            for e in range(plates.last[k]):
                for i in range(4):
                    v = 0.0
                    for j in range(4):
                        v += plates.tilt[e, i, j] * q[k, e + j // 2, j % 2]
                    load[e + i // 2, i % 2] -= p * v
        for n in range(1, plates.last[k] + 1):
            for i in range(3):
                z[n, i] = load[n, i]
        forward(1, plates.last[k], work.pull[k], z)
        backward(plates.last[k], work.pull[k], work.inverse[k], z)


@njit(cache=True, nogil=True, error_model="numpy")
def balance(
    p: float, state: State, plates: Plates, contacts: Contacts, soft: float, tight: float, work: Work
) -> tuple[int, int]:
    """Find the equilibrium at pressure p from the guess in ``state``, in place.

    Returns
    -------
    Newton steps taken, negative when it was not found; number of pressing points.
    """
    q, last = state.q, plates.last
    leaning = plates.stiff[plates.face] + p * plates.tilt
    work.before[:] = 0.0
    for step in range(1, MOST_STEPS + 1):
        for k in plates.present:
            stiff = leaning if k == plates.face else plates.stiff[k]
            assemble(
                plates.r, last[k], q[k], plates.stretching[k], plates.nu, stiff, plates.slope[k],
                work.diagonal[k], work.coupling[k], work.inner[k],
            )  # fmt: skip
        for c in range(state.force.size):
            if state.force[c] > 0:
                n, wide = contacts.ends[c, 2], contacts.ends[c, 3]
                work.diagonal[wide, n, 1, 1] += 2 * contacts.gaps[c, 1] * state.force[c]
        for k in plates.present:
            if not factor(last[k], work.diagonal[k], work.coupling[k], work.pull[k], work.inverse[k]):
                return -step, 0
            whole_blocks(last[k], work.pull[k], work.inverse[k], work.whole[k])
        solve_free(p, q, plates, work, False)
        place_points(q, state.length, contacts, plates.angle, work.reach, work.dent, work.begin)
        openings_of_points(q, state.length, contacts, work.reach, work.gap)
        thorough = step > EARLY_STEPS
        count, sound = press(
            state.active, state.force, contacts, plates.present, last, soft, tight, thorough, work
        )
        if count == FAILED or (thorough and not sound):
            return -step, 0
        moved, size = 0.0, 0.0
        for k in plates.present:
            for n in range(1, last[k] + 1):
                moved = max(moved, abs(work.d[k, n, 0]))
                for i in range(3):
                    q[k, n, i] += work.d[k, n, i]
                size = max(size, abs(q[k, n, 0]))
        if not np.isfinite(moved):
            return -step, count
        found = step > LENGTH_STEPS or spread_forces(
            q, state.force, contacts, plates.angle, state.length, work.before, 0.03 * tight * size
        )
        if found and sound and moved <= tight * size + 1e-14:
            return step, count
    return -MOST_STEPS, 0


@njit(cache=True, nogil=True, error_model="numpy")
def keep(source: State, target: State) -> None:
    """Copy one state over another."""
    target.q[:], target.dq[:] = source.q, source.dq
    target.force[:], target.active[:] = source.force, source.active
    target.length[:] = source.length


@njit(cache=True, nogil=True, error_model="numpy")
def find_slope(count: int, state: State, plates: Plates, contacts: Contacts, work: Work) -> None:
    """Change of the shapes with pressure, from the last factors and pressing points."""
    solve_free(1.0, state.q, plates, work, True)
    solve_forces(count, False, contacts, work)
    push_through(count, contacts, plates.present, plates.last, work, state.dq)


@njit(cache=True, nogil=True, error_model="numpy")
def settle(
    state: State, trial: State, plates: Plates, contacts: Contacts, soft: float, tight: float, work: Work
) -> bool:
    """Bring the stack to rest without pressure: rings and a proud seat strain it already."""
    reached, rise = 0.0, 1.0
    for c in range(state.active.size):
        state.active[c] = contacts.gaps[c, 0] <= 1e-12
    if not np.any(contacts.gaps[:, 0] < -1e-12):
        return True
    eased = Contacts(contacts.ends, contacts.gaps.copy(), contacts.edge)
    while reached < 1.0:
        goal = min(1.0, reached + rise)
        for c in range(state.active.size):
            if contacts.gaps[c, 0] < 0:
                eased.gaps[c, 0] = contacts.gaps[c, 0] * goal
        keep(state, trial)
        if balance(0.0, trial, plates, eased, soft, tight, work)[0] > 0:
            keep(trial, state)
            reached = goal
        else:
            rise *= 0.5
            if rise < 0.5**MOST_HALVINGS:
                return False
    return True


@njit(cache=True, nogil=True, error_model="numpy")
def foresee(p: float, at: float, state: State, plates: Plates, q: Floats) -> None:
    """Guess the shapes at pressure p: lift grows like a power of pressure, u like the square of lift."""
    node = plates.last[plates.face]
    rise, ratio = state.q[plates.face, node, 0], p / at if at > 0 else 1.0
    short_w = short_u = 1.0
    if at > 0 and rise > 0 and ratio != 1.0:
        power = min(max(at * state.dq[plates.face, node, 0] / rise, 0.05), 1.0)
        short_w = (ratio**power - 1) / (power * (ratio - 1))
        short_u = (ratio ** (2 * power) - 1) / (2 * power * (ratio - 1))
    for k in plates.present:
        for n in range(1, plates.last[k] + 1):
            for i in range(3):
                short = short_u if i == 2 else short_w
                q[k, n, i] = state.q[k, n, i] + (p - at) * short * state.dq[k, n, i]


@njit(cache=True, nogil=True, error_model="numpy")
def guess_beside(j: int, started: bool, state: State, near: State, plates: Plates, q: Floats) -> None:
    """Guess the shapes at a neighbour's j-th pressure: about as far off its own as at the one before."""
    face, rim = plates.face, plates.last[plates.face]
    before = near.q[j - 1, face, rim, 0] if started else 0.0
    grown = min(max(near.q[j, face, rim, 0] / before, 0.2), 5.0) if before > 0 else 1.0
    for k in plates.present:
        for n in range(1, plates.last[k] + 1):
            for i in range(3):
                off = (state.q[k, n, i] - near.q[j - 1, k, n, i]) if started else 0.0
                q[k, n, i] = near.q[j, k, n, i] + off * (grown if i == 2 else np.sqrt(grown))


@njit(cache=True, nogil=True, error_model="numpy")
def advance(
    p: float, at: float, state: State, trial: State, plates: Plates, contacts: Contacts, soft: float, tight:
    float, work: Work,
) -> int:  # fmt: skip
    """Go from the equilibrium at ``at`` to that at p, in ever shorter ways if need be; 0: it failed."""
    way, taken = p - at, 0
    shortest = abs(way) * 0.5**MOST_HALVINGS
    while True:
        goal = p if abs(p - at) <= abs(way) * (1 + 1e-9) else at + way
        keep(state, trial)
        foresee(goal, at, state, plates, trial.q)
        steps, count = balance(goal, trial, plates, contacts, soft, tight, work)
        taken += abs(steps)
        if steps > 0:
            keep(trial, state)
            find_slope(count, state, plates, contacts, work)
            at = goal
            if goal == p:
                return taken
        else:
            way *= 0.5
            if abs(way) <= shortest:
                return 0


@njit(cache=True, nogil=True, error_model="numpy")
def follow(
    clamp: float, nu: float, packs: Floats, offset: float, radii: Floats, shares: Floats, around:
    Surroundings, pressures: Floats, elements: float, soft: float, tight: float, near: State,
) -> Path:  # fmt: skip
    """Follow a stack through rising pressures.

    Parameters
    ----------
    packs : rows of outer radius, bending, stretching, shear, height.
    offset : height of the face pack's middle over that of its lowest shim. [m]
    radii, shares : pressure on the face.
    elements, soft, tight : see :func:`damping_model.lift.lift_curve`.
    near : equilibria of a neighbour at as many pressures; used where the grid is the same.
    """
    plates = lay_plates(clamp, nu, packs, offset, radii, shares, around, elements)
    contacts = contact_points(plates.r, plates.last, packs, around)
    many, count, nodes, points = pressures.size, packs.shape[0], plates.r.size, contacts.ends.shape[0]
    work = work_space(count, nodes, points)
    shape = (count, nodes, 3)
    state = State(
        np.zeros(shape), np.zeros(shape), np.zeros(points), np.zeros(points, np.bool_), np.zeros(points)
    )
    trial = State(
        np.zeros(shape), np.zeros(shape), np.zeros(points), np.zeros(points, np.bool_), np.zeros(points)
    )
    found = State(
        np.zeros((many, count, nodes, 3)), np.zeros((many, count, nodes, 3)),
        np.zeros((many, points)), np.zeros((many, points), np.bool_), np.zeros((many, points)),
    )  # fmt: skip
    steps = np.zeros(many, np.int64)
    at, started = 0.0, False
    same_grid = near.q.shape == found.q.shape
    same_points = near.force.shape == found.force.shape
    for j in range(many):
        taken = 0
        if same_grid:
            keep(state, trial)
            guess_beside(j, started, state, near, plates, trial.q)
            if same_points:
                trial.force[:], trial.active[:] = near.force[j], near.active[j]
                trial.length[:] = near.length[j]
            taken, pressing = balance(pressures[j], trial, plates, contacts, soft, tight, work)
            if taken > 0:
                keep(trial, state)
                find_slope(pressing, state, plates, contacts, work)
        if taken <= 0:
            if not started and not settle(state, trial, plates, contacts, soft, tight, work):
                break
            taken = advance(pressures[j], at, state, trial, plates, contacts, soft, tight, work)
            if taken == 0:
                break
        at, started = pressures[j], True
        found.q[j], found.dq[j] = state.q, state.dq
        found.force[j], found.active[j], found.length[j] = state.force, state.active, state.length
        steps[j] = taken
    return Path(plates.r, plates.last, contacts, found, steps)
