"""Predictors: the shapes, forces and wedges that Newton starts from at the next pressure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import Contacts
from damping_model.plates.jit import WRITTEN_IN
from damping_model.plates.plate import Plates
from damping_model.plates.state import State
from damping_model.plates.wedges import update_wedges
from damping_model.plates.workspace import Workspace

Floats = NDArray[np.float64]


@WRITTEN_IN
def predict(p: float, at: float, state: State, plates: Plates, q: Floats) -> None:
    """Predict the shapes at pressure p from the equilibrium at the pressure ``at``: equation (17)."""
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
def predict_contact(rise: float, trial: State, plates: Plates, contacts: Contacts, work: Workspace) -> None:
    """Predict forces and wedges at a pressure higher by ``rise``, at the shapes predicted for it.

    Points whose force would end open. Which others close is left to the Newton step: shapes that are right
    to a hundredth overlap in more places than touch in the end.
    """
    force, active, slope, bonded = trial.force, trial.active, work.force_slope, work.bonded
    for c in range(force.size):
        if active[c] and not bonded[c]:
            force[c] += rise * slope[c]
            active[c] = force[c] > 0
            force[c] = max(force[c], 0.0)
    update_wedges(trial.q, force, contacts, plates.shear_angle, trial.length, work.flips, 0.0)


@WRITTEN_IN
def predict_from_neighbour(
    j: int, started: bool, state: State, neighbour: State, plates: Plates, q: Floats
) -> None:
    """Predict the shapes at a neighbour's j-th pressure: about as far off its own as at the one before."""
    face, rim = plates.face, plates.last[plates.face]
    before = neighbour.q[j - 1, face, rim, 0] if started else 0.0
    grown = min(max(neighbour.q[j, face, rim, 0] / before, 0.2), 5.0) if before > 0 else 1.0
    for k in plates.present:
        for n in range(1, plates.last[k] + 1):
            for i in range(3):
                off = (state.q[k, n, i] - neighbour.q[j - 1, k, n, i]) if started else 0.0
                q[k, n, i] = neighbour.q[j, k, n, i] + off * (grown if i == 2 else np.sqrt(grown))
