"""Loads that the plates' inner forces do not balance: pressure (8), inner forces (6), contact forces (9)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.assembly import subtract_inner_forces
from damping_model.plates.contact import Contacts
from damping_model.plates.jit import UNCOUNTED, WRITTEN_IN
from damping_model.plates.linear_step import add_contact_loads
from damping_model.plates.plate import Plates
from damping_model.plates.state import State
from damping_model.plates.wedges import linearise_wedges
from damping_model.plates.workspace import Workspace

Floats = NDArray[np.float64]


@UNCOUNTED
def set_pressure_load(p: float, plates: Plates, work: Workspace) -> None:
    """Set the residual to the load of a pressure: the first term of (8)."""
    residual, load, last = work.residual, plates.load, plates.last
    for k in plates.present:
        on = p if k == plates.face else 0.0
        for n in range(last[k] + 1):
            residual[k, n, 0], residual[k, n, 1], residual[k, n, 2] = on * load[n, 0], on * load[n, 1], 0.0


@UNCOUNTED
def stiffen_face(p: float, plates: Plates) -> None:
    """Put the second term of (8) into the bending matrices of the face pack."""
    stiff, bare_face, tilt = plates.stiff, plates.bare_face, plates.tilt
    for e in range(bare_face.shape[0]):
        for i in range(4):
            for j in range(4):
                stiff[plates.face, e, i, j] = bare_face[e, i, j] + p * tilt[e, i, j]


@UNCOUNTED
def subtract_tilt_load(plates: Plates, q: Floats, residual: Floats) -> None:
    """Take the change of the second term of (8) with pressure off a residual (packs, nodes, 3)."""
    face, tilt = plates.face, plates.tilt
    for e in range(plates.last[face]):
        for i in range(4):
            v = 0.0
            for j in range(4):
                v += tilt[e, i, j] * q[face, e + j // 2, j % 2]
            residual[face, e + i // 2, i % 2] -= v


@WRITTEN_IN
def assemble_residual(
    p: float, count: int, state: State, plates: Plates, contacts: Contacts, softness: float, work: Workspace
) -> None:
    """Fill in the residual at a state, and add to the gaps of the active rows what their forces indent."""
    set_pressure_load(p, plates, work)
    q, last, residual, stretching = state.q, plates.last, work.residual, plates.stretching
    matrix, stiff, slope = plates.membrane_matrix, plates.stiff, plates.slope
    for k in plates.present:
        subtract_inner_forces(last[k], q[k], stretching[k], matrix, stiff[k], slope[k], residual[k])
    linearise_wedges(state.force, state.length, contacts, plates.shear_angle, work)
    force, active_rows, row_force, gap = state.force, work.active_rows, work.row_force, work.gap
    for a in range(count):
        c = active_rows[a]
        row_force[a] = 0.0
        if c < force.size:
            row_force[a] = force[c]
        else:
            gap[c] = 0.0
    add_contact_terms(count, softness, work)


@UNCOUNTED
def add_contact_terms(count: int, softness: float, work: Workspace) -> None:
    """Add the forces ``work.row_force`` of the active rows to the residual, their indentation to the gaps."""
    active_rows, row_force, gap = work.active_rows, work.row_force, work.gap
    row_compliance, least_compliance = work.row_compliance, work.least_compliance
    for a in range(count):
        c = active_rows[a]
        gap[c] += (row_compliance[c] + softness * least_compliance[c]) * row_force[a]
    add_contact_loads(count, row_force, work, work.residual)
