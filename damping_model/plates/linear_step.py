"""One linear step with a given active set: equation (14), by the factors of plates and compliance.

Rows are the contact points that press and their ties; K is the tangent of all plates, R the residual, G the
change of the rows' openings with the plates' shapes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.factors import solve_plates
from damping_model.plates.jit import UNCOUNTED, WRITTEN_IN
from damping_model.plates.plate import Plates
from damping_model.plates.workspace import Workspace

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@WRITTEN_IN
def opening_with(c: int, start: float, q: Floats, ends: Ints, gradient: Floats, first_node: Ints) -> float:
    """Opening of row c after displacements q (packs, nodes, 3): ``start`` and its row of G times q. [m]"""
    # unsigned indices spare the check for those from the end
    row, node, v = np.uint64(c), ends[c, 2], start
    n, before, wedge = np.uint64(node), np.uint64(node - 1), first_node[c] < node
    for side in range(2):
        if ends[row, side] >= 0:
            plate = np.uint64(ends[row, side])
            v += gradient[row, side, 2] * q[plate, n, 0] + gradient[row, side, 3] * q[plate, n, 1]
            if wedge:
                v += (
                    gradient[row, side, 0] * q[plate, before, 0]
                    + gradient[row, side, 1] * q[plate, before, 1]
                )
    return float(v)


@UNCOUNTED
def contact_forces(count: int, work: Workspace) -> float:
    """Fill in the forces ``work.x`` that close the active rows at the displacements ``work.free``.

    Returns the greatest of the contact points', ties left out. [N/rad]
    """
    cholesky, envelope, x, active_rows = work.cholesky, work.envelope, work.x, work.active_rows
    ends, gradient, first_node = work.ends, work.gradient, work.first_node
    free, gap, points, stride = work.free, work.gap, work.tie.size, work.compliance.shape[1] - 1
    for a in range(count):
        c = active_rows[a]
        v = -opening_with(c, gap[c], free, ends, gradient, first_node)
        row = a * stride + stride
        for k in range(envelope[np.uint64(a)], a):
            v -= cholesky[np.uint64(row + k)] * x[np.uint64(k)]
        x[a] = v * cholesky[row + a]
    greatest = 0.0
    for a in range(count - 1, -1, -1):
        row = a * stride + stride
        force = x[a] * cholesky[row + a]
        for k in range(envelope[a], a):
            x[np.uint64(k)] -= cholesky[np.uint64(row + k)] * force
        x[a] = force
        if active_rows[a] < points:
            greatest = max(greatest, abs(force))
    return greatest


@UNCOUNTED
def add_contact_loads(count: int, forces: Floats, work: Workspace, loads: Floats) -> None:
    """Add the forces of the active rows to loads (packs, nodes, 3): G^T x."""
    active_rows, ends, first_node, gradient = work.active_rows, work.ends, work.first_node, work.gradient
    for a in range(count):
        c = np.uint64(active_rows[a])
        node, force = ends[c, 2], forces[a]
        n, before, wedge = np.uint64(node), np.uint64(node - 1), first_node[c] < node
        for side in range(2):
            if ends[c, side] >= 0:
                plate = np.uint64(ends[c, side])
                loads[plate, n, 0] += force * gradient[c, side, 2]
                loads[plate, n, 1] += force * gradient[c, side, 3]
                if wedge:
                    loads[plate, before, 0] += force * gradient[c, side, 0]
                    loads[plate, before, 1] += force * gradient[c, side, 1]


@UNCOUNTED
def displace(count: int, plates: Ints, last: Ints, work: Workspace, d: Floats) -> None:
    """Fill in the displacements d = K^-1 (R + G^T x) of the residual and the contact forces ``work.x``."""
    residual = work.residual
    for plate in plates:
        for n in range(1, last[plate] + 1):
            for i in range(3):
                d[plate, n, i] = residual[plate, n, i]
    add_contact_loads(count, work.x, work, d)
    solve_plates(plates, last, work.lower, work.pivot_inverse, d)


@UNCOUNTED
def solve_free(plates: Plates, work: Workspace) -> None:
    """Fill in the displacements ``work.free`` = K^-1 R without contact."""
    free, residual, last = work.free, work.residual, plates.last
    for k in plates.present:
        for n in range(1, last[k] + 1):
            for i in range(3):
                free[k, n, i] = residual[k, n, i]
    solve_plates(plates.present, last, work.lower, work.pivot_inverse, free)


@UNCOUNTED
def solve_linear(count: int, plates: Plates, work: Workspace, d: Floats) -> None:
    """Fill in the displacements d by the residual where ``count`` active rows close their gaps."""
    solve_free(plates, work)
    contact_forces(count, work)
    displace(count, plates.present, plates.last, work, d)


@UNCOUNTED
def add_step(present: Ints, last: Ints, d: Floats, q: Floats) -> tuple[float, float]:
    """Add a step d to shapes q, or to their change; the greatest lift of the step, and with it."""
    moved, size = 0.0, 0.0
    for k in present:
        for n in range(1, last[k] + 1):
            moved = max(moved, abs(d[k, n, 0]))
            for i in range(3):
                q[k, n, i] += d[k, n, i]
            size = max(size, abs(q[k, n, 0]))
    return moved, size
