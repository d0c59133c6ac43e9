"""One equilibrium of the plates at one pressure: Newton's method, with the active set found in each step."""

from __future__ import annotations

from typing import Final

import numpy as np

from damping_model.plates.assembly import assemble
from damping_model.plates.contact import Contacts
from damping_model.plates.factors import factor, inverse_diagonal
from damping_model.plates.initial_guess import scale_to_balance
from damping_model.plates.jit import PIECE, WRITTEN_IN
from damping_model.plates.linear_step import add_step, solve_free
from damping_model.plates.modified_newton import STRETCH, WEDGE, modified_newton
from damping_model.plates.openings import openings_at_forces, place_forces
from damping_model.plates.pivoting import FAILED, solve_contact
from damping_model.plates.plate import Plates
from damping_model.plates.residual import set_pressure_load, stiffen_face
from damping_model.plates.sensitivity import refine_sensitivity, sensitivity
from damping_model.plates.state import State
from damping_model.plates.wedges import linearise_wedges, update_wedges
from damping_model.plates.workspace import Workspace

MOST_STEPS: Final = 30
"""Newton steps at one pressure before the way to it is halved."""

EARLY_STEPS: Final = 6
"""Newton steps whose active set need not be consistent."""

MODIFIED_BELOW: Final = 0.05
"""Newton step, as a share of the lift, after which its factors serve again. [-]"""

COARSE_TANGENT: Final = 1e-4
"""Newton step, as a share of the lift, whose factors are too coarse for the change with pressure. [-]"""

LENGTH_STEPS: Final = 14
"""Newton steps after which the lengths of the wedges stay as they are."""


@PIECE
def assemble_tangent(state: State, plates: Plates, contacts: Contacts, work: Workspace) -> bool:
    """Assemble and factor every plate at the shapes; False where one is not positive definite."""
    last, force, diagonal, coupling = plates.last, state.force, work.diagonal, work.coupling
    ends, gaps, present, stretching = contacts.ends, contacts.gaps, plates.present, plates.stretching
    q, matrix, stiff, slope = state.q, plates.membrane_matrix, plates.stiff, plates.slope
    inner, lower, inverse, blocks = work.inner, work.lower, work.pivot_inverse, work.inverse_blocks
    for k in present:
        assemble(last[k], q[k], stretching[k], matrix, stiff[k], slope[k], diagonal[k], coupling[k], inner[k])
    # the second derivative of (9) with the rotation
    for c in range(force.size):
        if force[c] > 0:
            n, wider = ends[c, 2], ends[c, 3]
            diagonal[wider, n, 1, 1] += 2 * gaps[c, 1] * force[c]
    for k in present:
        if not factor(last[k], diagonal[k], coupling[k], lower[k], inverse[k]):
            return False
        inverse_diagonal(last[k], lower[k], inverse[k], blocks[k])
    return True


@WRITTEN_IN
def newton_step(
    p: float, state: State, plates: Plates, contacts: Contacts, softness: float, tolerance: float,
    thorough: bool, work: Workspace,
) -> tuple[int, bool]:  # fmt: skip
    """Find the step ``work.d`` of (14) from the state, whose shapes stay.

    Returns
    -------
    Number of active rows, and whether they are consistent: see
    :func:`damping_model.plates.pivoting.solve_contact`.
    """
    if not assemble_tangent(state, plates, contacts, work):
        return FAILED, False
    set_pressure_load(p, plates, work)
    residual, inner, last = work.residual, work.inner, plates.last
    for k in plates.present:
        for n in range(1, last[k] + 1):
            for i in range(3):
                residual[k, n, i] -= inner[k, n, i]
    q, length, angle = state.q, state.length, plates.shear_angle
    place_forces(q, length, contacts, angle, work.gradient, work.row_compliance, work.first_node)
    openings_at_forces(q, length, contacts, work.gradient, work.gap)
    linearise_wedges(state.force, length, contacts, angle, work)
    solve_free(plates, work)
    return solve_contact(state.active, state.force, plates.present, last, softness, tolerance, thorough, work)


@PIECE
def find_equilibrium(
    p: float, exact_slope: bool, state: State, plates: Plates, contacts: Contacts, softness: float,
    tolerance: float, work: Workspace,
) -> int:  # fmt: skip
    """Find the equilibrium at pressure p and its change with pressure from the guess in ``state``, in place.

    Returns
    -------
    Newton steps taken, negative when it was not found.
    """
    q, last, d, flips, taken = state.q, plates.last, work.d, work.flips, 0
    stiffen_face(p, plates)
    for c in range(flips.size):
        flips[c] = 0
    for step in range(1, MOST_STEPS + 2):
        if taken == 0 and step > MOST_STEPS:
            break
        thorough = taken > 0 or step > EARLY_STEPS
        count, sound = newton_step(p, state, plates, contacts, softness, tolerance, thorough, work)
        if taken > 0:
            # the equilibrium stands already: these are new factors for its change with pressure
            sensitivity(max(count, 0), state, plates, work)
            return taken
        if count == FAILED or (thorough and not sound):
            return -step
        moved, size = add_step(plates.present, last, d, q)
        if not np.isfinite(moved):
            return -step
        if moved == size and p > 0:  # from flat plates
            size = scale_to_balance(plates, q, work.inner)
        found, change = True, 0.0
        if step <= LENGTH_STEPS:
            limit = WEDGE * tolerance * size
            found, change = update_wedges(
                q, state.force, contacts, plates.shear_angle, state.length, flips, limit
            )
        unfinished = not (found and sound and moved <= tolerance * size + 1e-14)
        if unfinished:
            close = moved <= MODIFIED_BELOW * size and change <= STRETCH
            if not close:
                continue
            count, ended = modified_newton(
                p, count, moved, state, plates, contacts, softness, tolerance, work
            )
            if not ended:
                continue
        sensitivity(count, state, plates, work)
        enough = not (exact_slope and unfinished and moved > COARSE_TANGENT * size)
        if enough or refine_sensitivity(count, state, plates, contacts, softness, work):
            return step
        taken = step
    return -MOST_STEPS
