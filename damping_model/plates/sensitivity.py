"""How an equilibrium changes with pressure, equation (15), on the factors that the way to it left."""

from __future__ import annotations

from typing import Final

from damping_model.plates.assembly import subtract_tangent_product
from damping_model.plates.contact import Contacts
from damping_model.plates.jit import PIECE, UNCOUNTED, WRITTEN_IN
from damping_model.plates.linear_step import add_step, opening_with, solve_linear
from damping_model.plates.plate import Plates
from damping_model.plates.residual import add_contact_terms, set_pressure_load, subtract_tilt_load
from damping_model.plates.state import State
from damping_model.plates.workspace import Workspace

SLOPE_END: Final = 1e-2
"""Last correction of the change with pressure, as a share of it; the next would be far smaller. [-]"""

MOST_CORRECTIONS: Final = 3
"""Corrections that together cost less than new factors."""

FAR_OFF: Final = 0.2
"""A first correction beyond this asks for new factors instead of another. [-]"""


@UNCOUNTED
def sensitivity(count: int, state: State, plates: Plates, work: Workspace) -> None:
    """Find the change with pressure of the shapes, ``state.dq``, and of the forces, ``work.force_slope``.

    On the factors that the last step left.
    """
    set_pressure_load(1.0, plates, work)
    subtract_tilt_load(plates, state.q, work.residual)
    gap, active_rows = work.gap, work.active_rows
    for a in range(count):
        gap[active_rows[a]] = 0.0
    solve_linear(count, plates, work, state.dq)
    force_slope, x = work.force_slope, work.x
    for c in range(force_slope.size):
        force_slope[c] = 0.0
    for a in range(count):
        if active_rows[a] < force_slope.size:
            force_slope[active_rows[a]] = x[a]


@PIECE
def refine_sensitivity(
    count: int, state: State, plates: Plates, contacts: Contacts, softness: float, work: Workspace
) -> bool:
    """Correct what :func:`sensitivity` found on old factors; False where it asks for new ones."""
    row_force, x = work.row_force, work.x
    for a in range(count):
        row_force[a] = x[a]
    for _ in range(MOST_CORRECTIONS):
        share = correct_sensitivity(count, state, plates, contacts, softness, work)
        if share <= SLOPE_END:
            return True
        if not share < FAR_OFF:
            return False
    return False


@WRITTEN_IN
def correct_sensitivity(
    count: int, state: State, plates: Plates, contacts: Contacts, softness: float, work: Workspace
) -> float:
    """Correct ``state.dq``, and the forces' change with pressure in ``work.row_force``, by one modified step.

    Returns
    -------
    The correction as a share of the change with pressure.
    """
    ends, gradient, first_node, active_rows = work.ends, work.gradient, work.first_node, work.active_rows
    d, x, row_force, residual, gap = work.d, work.x, work.row_force, work.residual, work.gap
    dq, force, gaps, pairs = state.dq, state.force, contacts.gaps, contacts.ends
    set_pressure_load(1.0, plates, work)
    subtract_tilt_load(plates, state.q, residual)
    q, last, stretching = state.q, plates.last, plates.stretching
    matrix, stiff, slope = plates.membrane_matrix, plates.stiff, plates.slope
    for k in plates.present:
        subtract_tangent_product(last[k], q[k], dq[k], stretching[k], matrix, stiff[k], slope[k], residual[k])
    for a in range(count):
        c = active_rows[a]
        if c < force.size:
            n, wider = ends[c, 2], pairs[c, 3]
            residual[wider, n, 1] -= 2 * gaps[c, 1] * force[c] * dq[wider, n, 1]
        gap[c] = opening_with(c, 0.0, dq, ends, gradient, first_node)
    add_contact_terms(count, softness, work)
    solve_linear(count, plates, work, d)
    for a in range(count):
        row_force[a] += x[a]
    moved, size = add_step(plates.present, last, d, dq)
    return float(moved / size)
