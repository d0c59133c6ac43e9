"""Plates followed from pressure to pressure: Newton with contact, one compiled call for a curve."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Contacts, Surroundings, contact_points
from damping_model.plates.grid import APART, nearest
from damping_model.plates.jit import ENTRY, WRITTEN_IN
from damping_model.plates.newton import balance, keep
from damping_model.plates.plate import Plates, State, flat, lay_plates
from damping_model.plates.ties import lay_ties, tied_points
from damping_model.plates.workspace import Work, work_space

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_HALVINGS: Final = 12
"""Times that the way to one pressure may be halved before the stack is called unsolved."""


class Path(NamedTuple):
    """All equilibria; ``steps`` is 0 from the first pressure on that was not reached.

    ``lift`` is that of the face shim over the seat, ``slope`` its change with pressure, ``edge`` the rise of
    the face shim's rim: see :class:`damping_model.stack.lift.LiftCurve`.
    """

    r: Floats
    last: Ints
    contacts: Contacts
    states: State
    steps: Ints
    lift: Floats
    slope: Floats
    edge: Floats


class Survey(NamedTuple):
    """What packs and pressures are: whether they are sound numbers, the face's place or -1, rising or not."""

    packs: bool
    face: int
    pressures: bool
    rising: bool


@ENTRY
def survey(packs: Floats, clamp: float, pressures: Floats) -> Survey:
    """Look over packs, as rows of radius, bending, stretching, shear, height, and pressures."""
    sound, face = packs.size > 0, -1
    for k in range(packs.shape[0]):
        for i in range(5):
            sound = sound and packs[k, i] >= 0 and (i == 3 or np.isfinite(packs[k, i]))
        if face < 0 and packs[k, 1] > 0 and packs[k, 0] > clamp + APART:
            face = k
    fit, rising = pressures.size > 0, True
    for j in range(pressures.size):
        fit = fit and 0 <= pressures[j] < np.inf
        rising = rising and (j == 0 or pressures[j] >= pressures[j - 1])
    return Survey(sound, face, fit, rising)


@WRITTEN_IN
def settle(
    state: State, trial: State, plates: Plates, contacts: Contacts, soft: float, tight: float, exact: bool,
    work: Work,
) -> bool:  # fmt: skip
    """Bring the stack to rest without pressure: rings and a proud seat strain it already."""
    reached, rise, strained = 0.0, 1.0, False
    for c in range(state.active.size):
        state.active[c] = contacts.gaps[c, 0] <= 1e-12
        strained = strained or contacts.gaps[c, 0] < -1e-12
    if not strained:
        return True
    eased = Contacts(contacts.ends, contacts.gaps.copy(), contacts.edge)
    while reached < 1.0:
        goal = min(1.0, reached + rise)
        for c in range(state.active.size):
            if contacts.gaps[c, 0] < 0:
                eased.gaps[c, 0] = contacts.gaps[c, 0] * goal
        keep(state, trial)
        if balance(0.0, exact, trial, plates, eased, soft, tight, work) > 0:
            keep(trial, state)
            # its change with the first pressure says nothing about a high one
            for k in range(state.dq.shape[0]):
                for n in range(state.dq.shape[1]):
                    for i in range(3):
                        state.dq[k, n, i] = 0.0
            reached = goal
        else:
            rise *= 0.5
            if rise < 0.5**MOST_HALVINGS:
                return False
    return True


@WRITTEN_IN
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


@WRITTEN_IN
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


@WRITTEN_IN
def advance(
    p: float, at: float, state: State, trial: State, plates: Plates, contacts: Contacts, soft: float, tight:
    float, exact: bool, work: Work,
) -> int:  # fmt: skip
    """Go from the equilibrium at ``at`` to that at p, in ever shorter ways if need be; 0: it failed."""
    way, taken = p - at, 0
    shortest = abs(way) * 0.5**MOST_HALVINGS
    while True:
        goal = p if abs(p - at) <= abs(way) * (1 + 1e-9) else at + way
        keep(state, trial)
        foresee(goal, at, state, plates, trial.q)
        steps = balance(goal, exact, trial, plates, contacts, soft, tight, work)
        taken += abs(steps)
        if steps > 0:
            keep(trial, state)
            at = goal
            if goal == p:
                return taken
        else:
            way *= 0.5
            if abs(way) <= shortest:
                return 0


@ENTRY
def follow(
    clamp: float, nu: float, packs: Floats, thickness: float, radii: Floats, shares: Floats, around:
    Surroundings, pressures: Floats, elements: float, soft: float, tight: float, exact: bool, near:
    State,
) -> Path:  # fmt: skip
    """Follow a stack through rising pressures.

    Parameters
    ----------
    packs : rows of outer radius, bending, stretching, shear, height.
    thickness : of the shim that lies on the piston. [m]
    radii, shares : pressure on the face.
    elements, soft, tight, exact : see :func:`damping_model.stack.lift.lift_curve`.
    near : equilibria of a neighbour at as many pressures; used where the grid is the same.
    """
    plates = lay_plates(clamp, nu, packs, thickness, radii, shares, around, elements)
    contacts = contact_points(plates.r, plates.last, packs, around)
    many, count, nodes, points = pressures.size, packs.shape[0], plates.r.size, contacts.ends.shape[0]
    work = work_space(count, nodes, tied_points(contacts, packs, around.thick))
    lay_ties(contacts, work)
    state, trial = flat(count, nodes, points), flat(count, nodes, points)
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
                for c in range(points):
                    trial.force[c], trial.active[c] = near.force[j, c], near.active[j, c]
                    trial.length[c] = near.length[j, c]
            taken = balance(pressures[j], exact, trial, plates, contacts, soft, tight, work)
            if taken > 0:
                keep(trial, state)
        if taken <= 0:
            if not started and not settle(state, trial, plates, contacts, soft, tight, exact, work):
                break
            taken = advance(pressures[j], at, state, trial, plates, contacts, soft, tight, exact, work)
            if taken == 0:
                break
        at, started = pressures[j], True
        keep(state, State(found.q[j], found.dq[j], found.force[j], found.active[j], found.length[j]))
        steps[j] = taken
    lift, slope, edge = rise(found, plates, around, packs[plates.face, 4], thickness)
    return Path(plates.r, plates.last, contacts, found, steps, lift, slope, edge)


@WRITTEN_IN
def rise(
    states: State, plates: Plates, around: Surroundings, height: float, thickness: float
) -> tuple[Floats, Floats, Floats]:
    """Lift at the seat, its change with pressure, and the rise at the rim, of the face shim's lower face.

    For a seat at a place on the lip, else at a place on the shim.
    """
    on_shim = 0.25 * around.thick * (height - 2 * thickness)
    on_lip = 0.25 * around.thick * height if around.has_seat > 0 else on_shim
    many, at = states.q.shape[0], nearest(plates.r, around.seat_radius)
    lift, slope, edge = np.empty(many), np.empty(many), np.empty(many)
    for j in range(many):
        shape, change = states.q[j, plates.face], states.dq[j, plates.face]
        lift[j] = shape[at, 0] - on_lip * shape[at, 1] ** 2
        slope[j] = change[at, 0] - 2 * on_lip * shape[at, 1] * change[at, 1]
        if around.has_seat > 0:
            # the seat is the first of the contact points
            lift[j] = 0.0 if states.force[j, 0] > 0 else max(lift[j] - around.seat_height, 0.0)
        edge[j] = shape[plates.last[plates.face], 0] - on_shim * shape[plates.last[plates.face], 1] ** 2
    return lift, slope, edge
