"""The active set of one linear step: which contact points press.

Opening and force of every point obey the complementarity conditions (10). The active set is found by block
principal pivoting, which ends for every positive definite matrix [1]_; its last resort is Murty's rule of
changing one point at a time.

References
----------
.. [1] J. J. Judice and F. M. Pires, "A block principal pivoting algorithm for large-scale strictly monotone
   linear complementarity problems", Computers & Operations Research 21 (1994) 587-596.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.band_cholesky import factor_compliance
from damping_model.plates.compliance import assemble_column
from damping_model.plates.jit import PIECE, UNCOUNTED, WRITTEN_IN
from damping_model.plates.linear_step import contact_forces, displace, opening_with
from damping_model.plates.workspace import Workspace

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

NO_PENETRATION: Final = 1e-5
"""Overlap below which a point counts as open, per tolerance. [m]"""

NO_PULL: Final = 1e-2
"""Pull below which a point counts as pressing, as a share of the greatest force and per tolerance. [-]"""

PATIENCE: Final = 4
"""Exchanges of the whole block that may fail to better the count before only the worst point changes."""

WORST_FIRST: Final = 8
"""Changes of the worst point that may fail to better the count before points change in their own order."""

EARLY_EXCHANGES: Final = 8
"""Exchanges in one of the early Newton steps, whose active set need not be the last word."""

FAILED: Final = -1
"""Stands for the number of active rows where their compliance was not positive definite."""


@UNCOUNTED
def list_violations(greatest: float, tolerance: float, active: Flags, force: Floats, work: Workspace) -> int:
    """List in ``work.violated`` the points that pull or would overlap, in ``work.violation`` by how far.

    Returns their number.
    """
    ends, d, gradient, first_node, gap = work.ends, work.d, work.gradient, work.first_node, work.gap
    violated, violation, compliance, bonded = work.violated, work.violation, work.compliance, work.bonded
    place = work.place
    count = 0
    for c in range(active.size):
        if bonded[c]:
            continue
        if active[c]:
            wrong = force[c] < -NO_PULL * max(tolerance, 1e-8) * greatest
            amount = -force[c] * compliance[place[c], 0]
        else:
            opening = opening_with(c, gap[c], d, ends, gradient, first_node)
            wrong, amount = opening < -NO_PENETRATION * max(tolerance, 1e-8), -opening
        if wrong:
            violated[count], violation[count] = c, amount
            count += 1
    return count


@WRITTEN_IN
def activate(active: Flags, before: int, work: Workspace) -> tuple[int, int]:
    """List the active rows and assemble their columns; ``before`` rows were listed the last time.

    Returns their number, and how many of the first are the same as the last time.
    """
    tie, live, active_rows, assembled = work.tie, work.live, work.active_rows, work.assembled
    count, same = 0, 0
    for c in range(active.size):
        if not active[c]:
            continue
        tied = tie[c] >= 0 and live[tie[c]]
        for part in range(2 if tied else 1):
            row = tie[c] if part else c
            if same == count < before and active_rows[count] == row:
                same += 1
            active_rows[count] = row
            count += 1
            if not assembled[row]:
                assemble_column(row, work)
                assembled[row] = True
    return count, same


@PIECE
def solve_contact(
    active: Flags, force: Floats, present: Ints, last: Ints, softness: float,
    tolerance: float, thorough: bool, work: Workspace,
) -> tuple[int, bool]:  # fmt: skip
    """Solve one linear step with contact, equations (10) and (14), from the residual and gaps in ``work``.

    Parameters
    ----------
    active : holds the guess of the active set and receives the answer.
    force : receives the force of every point. [N/rad]
    present, last : plates that bend, and the last node of each.
    softness, tolerance : see :func:`damping_model.stack.lift.lift_curve`.
    thorough : whether to go on until the set is consistent.
    work : receives the displacements in ``d``.

    Returns
    -------
    Number of active rows, and whether a consistent set was found.
    """
    total = active.size
    assembled, rows_of_plate, bonded, active_rows = (
        work.assembled, work.rows_of_plate, work.bonded, work.active_rows
    )  # fmt: skip
    x, violated, violation = work.x, work.violated, work.violation
    count, best, patience = 0, total + 1, PATIENCE
    for row in range(assembled.size):
        assembled[row] = False
    for plate in range(rows_of_plate.shape[0]):
        rows_of_plate[plate, 0] = 0
    for c in range(total):
        active[c] = active[c] or bonded[c]
    bad = 0
    for left in range(60 + 4 * total if thorough else EARLY_EXCHANGES, 0, -1):
        count, same = activate(active, count, work)
        if not factor_compliance(same, count, softness, work):
            return FAILED, False
        greatest = contact_forces(count, work)
        displace(count, present, last, work, work.d)
        for c in range(total):
            force[c] = 0.0
        for a in range(count):
            if active_rows[a] < total:
                force[active_rows[a]] = x[a]
        bad = list_violations(greatest, tolerance, active, force, work)
        if bad == 0 or left == 1:  # what stands is factored
            break
        patience = patience - 1 if bad >= best else PATIENCE
        best = min(best, bad)
        begin, end = 0, bad
        if patience < -WORST_FIRST:
            begin = bad - 1
        elif patience < 0:
            for a in range(1, bad):
                begin = a if violation[a] > violation[begin] else begin
            end = begin + 1
        for a in range(begin, end):
            active[violated[a]] = not active[violated[a]]
    return count, bad == 0


@UNCOUNTED
def exchange(
    bad: int, count: int, softness: float, active: Flags, force: Floats, work: Workspace
) -> tuple[int, bool]:
    """Let the ``bad`` violated points change sides, without force, beside plates whose factors stand.

    Returns
    -------
    Number of active rows, and whether their compliance was positive definite.
    """
    for a in range(bad):
        c = work.violated[a]
        active[c], force[c] = not active[c], 0.0
    count, same = activate(active, count, work)
    return count, factor_compliance(same, count, softness, work)
