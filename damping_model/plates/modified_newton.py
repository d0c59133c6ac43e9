"""Modified Newton steps: the last digits of an equilibrium at a quarter of a Newton step's work.

Close to the end the tangent hardly changes. So the plates' factors and the compliance of the last Newton step
serve again, as in the chord method of any book on iteration. The residual is found anew at the shapes, forces
and lengths that the plates have got to, so the answer is the same. Points that would overlap or pull change
sides between two steps: the next one sets their force.
"""

from __future__ import annotations

from typing import Final

from damping_model.plates.contact import Contacts
from damping_model.plates.jit import PIECE
from damping_model.plates.linear_step import solve_linear
from damping_model.plates.openings import openings_at_forces, place_forces
from damping_model.plates.pivoting import exchange, list_violations
from damping_model.plates.plate import Plates
from damping_model.plates.residual import assemble_residual
from damping_model.plates.state import State
from damping_model.plates.wedges import update_wedges
from damping_model.plates.workspace import Workspace

MOST_MODIFIED_STEPS: Final = 6
"""Steps on one set of factors."""

SHRINK: Final = 0.3
"""A step that is not this much shorter than the one before it asks for new factors. [-]"""

LAST_SHRINK: Final = 1.0
"""The same for a step below the tolerance, where new factors would cost more than a few steps more."""

FIRST_SHRINK: Final = 5.0
"""The same for the first step, which makes good what the wedges did after the Newton step. [-]"""

LIKELY: Final = 0.2
"""How much shorter the next step is taken to be at best. [-]"""

WEDGE: Final = 0.1
"""How far the indentation at a rim may still move at the end, per tolerance and lift. [-]"""

STRETCH: Final = 0.6
"""Change of a wedge's length, as a share of it, that asks for new factors. [-]"""

LEFT: Final = 0.01
"""The steps that would follow the last, as a share of the tolerance. [-]"""

COARSE: Final = 1e-4
"""Tolerance from which on only the wedges and the active set say how true a lift is. [-]"""

LEFT_IF_COARSE: Final = 0.1
"""What is left to such a tolerance. [-]"""


@PIECE
def modified_newton(
    p: float, count: int, moved: float, state: State, plates: Plates, contacts: Contacts, softness: float,
    tolerance: float, work: Workspace,
) -> tuple[int, bool]:  # fmt: skip
    """Go on from a Newton step that lifted by ``moved`` with ``count`` active rows, in place.

    Returns
    -------
    Number of active rows, and whether the equilibrium is found; where it is not, another Newton step is due.
    """
    q, force, length, last = state.q, state.force, state.length, plates.last
    d, x, active_rows, shear_angle = work.d, work.x, work.active_rows, plates.shear_angle
    shrink, fewest = FIRST_SHRINK, force.size + 1
    left = tolerance * (LEFT_IF_COARSE if tolerance >= COARSE else LEFT)
    for _ in range(MOST_MODIFIED_STEPS):
        place_forces(q, length, contacts, shear_angle, work.gradient, work.row_compliance, work.first_node)
        openings_at_forces(q, length, contacts, work.gradient, work.gap)
        assemble_residual(p, count, state, plates, contacts, softness, work)
        solve_linear(count, plates, work, d)
        step, size, greatest = 0.0, 0.0, 0.0
        for k in plates.present:
            for n in range(1, last[k] + 1):
                step = max(step, abs(d[k, n, 0]))
                size = max(size, abs(q[k, n, 0]))
        if not step < max(shrink, LAST_SHRINK if step <= tolerance * size else 0.0) * moved:
            return count, False
        for a in range(count):
            c = active_rows[a]
            if c < force.size:
                force[c] += x[a]
                greatest = max(greatest, force[c])
        bad = list_violations(greatest, tolerance, state.active, force, work)
        for k in plates.present:
            for n in range(1, last[k] + 1):
                for i in range(3):
                    q[k, n, i] += d[k, n, i]
        limit = WEDGE * tolerance * size
        found, change = update_wedges(q, force, contacts, shear_angle, length, work.flips, limit)
        if change > STRETCH or bad >= fewest:
            return count, False
        if bad > 0:
            fewest = bad
            count, factored = exchange(bad, count, softness, state.active, force, work)
            if not factored:
                return count, False
            continue
        if found and step * max(step / moved, LIKELY) <= left * size + 1e-14:
            return count, True
        moved, shrink = step, SHRINK
    return count, False
