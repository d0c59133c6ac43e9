"""Equilibria from pressure to pressure by continuation: one compiled call for a whole lift curve.

Each pressure starts from a prediction (17); where Newton fails, the step in pressure is halved.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Contacts, Surroundings, contact_points
from damping_model.plates.face_lift import face_lift
from damping_model.plates.jit import ENTRY, WRITTEN_IN
from damping_model.plates.newton import find_equilibrium
from damping_model.plates.plate import Plates, build_plates
from damping_model.plates.predictor import predict, predict_contact, predict_from_neighbour
from damping_model.plates.state import State, copy_state, unstrained
from damping_model.plates.ties import set_up_ties, tie_rows
from damping_model.plates.workspace import Workspace, workspace

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_HALVINGS: Final = 12
"""Times that a step in pressure may be halved before the stack is called unsolved."""


class EquilibriumPath(NamedTuple):
    """All equilibria of a stack.

    Parameters
    ----------
    r, last, contacts : the grid, the last node of each pack, and the contact points.
    states : at each pressure.
    reached : number of pressures at which an equilibrium was found, from the first on.
    steps : Newton steps at each pressure; 0 where none was found.
    lift, slope, edge : of the face shim over the seat, its change with pressure, and the rise of its rim: see
        :class:`damping_model.stack.lift.LiftCurve`.
    """

    r: Floats
    last: Ints
    contacts: Contacts
    states: State
    reached: int
    steps: Ints
    lift: Floats
    slope: Floats
    edge: Floats


@WRITTEN_IN
def find_preloaded_state(
    state: State, trial: State, plates: Plates, contacts: Contacts, softness: float, tolerance: float,
    exact_slope: bool, work: Workspace,
) -> bool:  # fmt: skip
    """Find the equilibrium without pressure: rings and a proud seat strain the stack already."""
    reached, rise, strained, ends, last = 0.0, 1.0, False, contacts.ends, plates.last
    for c in range(state.active.size):
        # packs meet at their rims first: many of the points within would only open again
        one, other, gap = ends[c, 0], ends[c, 1], contacts.gaps[c, 0]
        rim = one >= 0 and other >= 0 and ends[c, 2] == min(last[one], last[other])
        state.active[c] = gap < -1e-12 or (rim and gap <= 1e-12)
        strained = strained or gap < -1e-12
    if not strained:
        return True
    eased = Contacts(contacts.ends, contacts.gaps.copy(), contacts.edge)
    while reached < 1.0:
        target = min(1.0, reached + rise)
        for c in range(state.active.size):
            if contacts.gaps[c, 0] < 0:
                eased.gaps[c, 0] = contacts.gaps[c, 0] * target
        copy_state(state, trial)
        if find_equilibrium(0.0, exact_slope, trial, plates, eased, softness, tolerance, work) > 0:
            copy_state(trial, state)
            # its change with the first pressure says nothing about a high one
            for k in range(state.dq.shape[0]):
                for n in range(state.dq.shape[1]):
                    for i in range(3):
                        state.dq[k, n, i] = 0.0
            reached = target
        else:
            rise *= 0.5
            if rise < 0.5**MOST_HALVINGS:
                return False
    return True


@WRITTEN_IN
def continue_to(
    p: float, at: float, state: State, trial: State, plates: Plates, contacts: Contacts, softness: float,
    tolerance: float, exact_slope: bool, work: Workspace,
) -> int:  # fmt: skip
    """Go from the equilibrium at the pressure ``at`` to that at p, in ever shorter steps if need be.

    Returns
    -------
    Newton steps taken; 0 when it failed.
    """
    stride, taken = p - at, 0
    shortest = abs(stride) * 0.5**MOST_HALVINGS
    while True:
        target = p if abs(p - at) <= abs(stride) * (1 + 1e-9) else at + stride
        copy_state(state, trial)
        predict(target, at, state, plates, trial.q)
        # Newton ends sooner from these, on factors that are too coarse for an exact slope
        if at > 0 and not exact_slope:
            predict_contact(target - at, trial, plates, contacts, work)
        steps = find_equilibrium(target, exact_slope, trial, plates, contacts, softness, tolerance, work)
        taken += abs(steps)
        if steps > 0:
            copy_state(trial, state)
            at = target
            if target == p:
                return taken
        else:
            stride *= 0.5
            if abs(stride) <= shortest:
                return 0


@ENTRY
def equilibrium_path(
    clamp: float, nu: float, packs: Floats, thickness: float, radii: Floats, shares: Floats, around:
    Surroundings, pressures: Floats, elements: float, softness: float, tolerance: float, exact_slope: bool,
    neighbour: State,
) -> EquilibriumPath:  # fmt: skip
    """Find the equilibria of a stack at rising pressures.

    Parameters
    ----------
    clamp, nu, packs, thickness, radii, shares, around : see
        :func:`damping_model.plates.plate.build_plates`.
    pressures : rising. [Pa]
    elements, softness, tolerance, exact_slope : see :func:`damping_model.stack.lift.lift_curve`.
    neighbour : equilibria of a similar stack at as many pressures; used where the grid is the same.
    """
    plates = build_plates(clamp, nu, packs, thickness, radii, shares, around, elements)
    contacts = contact_points(plates.r, plates.last, packs, around)
    size, count, nodes, points = pressures.size, packs.shape[0], plates.r.size, contacts.ends.shape[0]
    work = workspace(count, nodes, contacts.ends, tie_rows(contacts, packs, around.thick))
    set_up_ties(contacts, work)
    state, trial = unstrained(count, nodes, points), unstrained(count, nodes, points)
    states = State(
        q=np.zeros((size, count, nodes, 3)),
        dq=np.zeros((size, count, nodes, 3)),
        force=np.zeros((size, points)),
        active=np.zeros((size, points), np.bool_),
        length=np.zeros((size, points)),
    )
    steps = np.zeros(size, np.int64)
    at, started, reached = 0.0, False, 0
    same_grid = neighbour.q.shape == states.q.shape
    same_points = neighbour.force.shape == states.force.shape
    for j in range(size):
        p, taken = pressures[j], 0
        if same_grid:
            copy_state(state, trial)
            predict_from_neighbour(j, started, state, neighbour, plates, trial.q)
            if same_points:
                for c in range(points):
                    trial.force[c], trial.active[c] = neighbour.force[j, c], neighbour.active[j, c]
                    trial.length[c] = neighbour.length[j, c]
            taken = find_equilibrium(p, exact_slope, trial, plates, contacts, softness, tolerance, work)
            if taken > 0:
                copy_state(trial, state)
        if taken <= 0:
            if not started and not find_preloaded_state(
                state, trial, plates, contacts, softness, tolerance, exact_slope, work
            ):
                break
            taken = continue_to(p, at, state, trial, plates, contacts, softness, tolerance, exact_slope, work)
            if taken == 0:
                break
        at, started = p, True
        copy_state(
            state, State(states.q[j], states.dq[j], states.force[j], states.active[j], states.length[j])
        )
        steps[j] = taken
        reached = j + 1
    lift, slope, edge = face_lift(states, plates, around, packs[plates.face, 4], thickness)
    return EquilibriumPath(
        r=plates.r,
        last=plates.last,
        contacts=contacts,
        states=states,
        reached=reached,
        steps=steps,
        lift=lift,
        slope=slope,
        edge=edge,
    )
