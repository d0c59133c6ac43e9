"""From the first linear step to shapes near the equilibrium: what stretching makes of them.

A linear step from flat plates knows nothing of stretching: it lifts too far and leaves the radial
displacements at zero, which the next Newton step would have to undo first. Here every plate is first relaxed
along the radius, and then all lifts are scaled down together until bending and stretching balance as they do
along that one way: energy of the former goes with the square of the lift, that of the latter with its fourth
power, equation (16). It is where Newton goes on from and nothing more.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.assembly import gauss_slopes
from damping_model.plates.jit import UNCOUNTED
from damping_model.plates.plate import Plates

Floats = NDArray[np.float64]

SCALE_STEPS: Final = 5
"""Newton steps for the share of the lift that is left, from what would be left without bending."""


@UNCOUNTED
def relax_radially(m: int, q: Floats, slope: Floats, matrix: Floats, pivots: Floats) -> float:
    """Let a plate shift along the radius until no radial force is left; twice its membrane energy at C = 1.

    Parameters
    ----------
    m, slope, matrix : elements, as :func:`damping_model.plates.assembly.assemble` takes them.
    q : shapes (nodes, 3), whose radial displacements are set.
    pivots : memory (nodes, 3).
    """
    for e in range(m):
        n = e + 1
        sa, sb = gauss_slopes(e, q, slope)
        pivot = matrix[e, 3, 3]
        force = -matrix[e, 3, 0] * (0.5 * sa * sa) - matrix[e, 3, 1] * (0.5 * sb * sb)
        if n > 1:
            part = matrix[e, 2, 3] / pivots[e, 2]
            pivot -= part * matrix[e, 2, 3]
            force -= part * q[e, 2]
        if n < m:
            sa, sb = gauss_slopes(n, q, slope)
            pivot += matrix[n, 2, 2]
            force -= matrix[n, 2, 0] * (0.5 * sa * sa) + matrix[n, 2, 1] * (0.5 * sb * sb)
        q[n, 2], pivots[n, 2] = force, pivot
    q[m, 2] /= pivots[m, 2]
    for n in range(m - 1, 0, -1):
        q[n, 2] = (q[n, 2] - matrix[n, 2, 3] * q[n + 1, 2]) / pivots[n, 2]
    energy = 0.0
    for e in range(m):
        sa, sb = gauss_slopes(e, q, slope)
        strain = (0.5 * sa * sa, 0.5 * sb * sb, q[e, 2], q[e + 1, 2])
        for i in range(4):
            for j in range(4):
                energy += strain[i] * matrix[e, i, j] * strain[j]
    return energy


@UNCOUNTED
def bending_energy(m: int, q: Floats, stiff: Floats) -> float:
    """Twice a plate's energy of bending. [N m]"""
    energy = 0.0
    for e in range(m):
        shape = (q[e, 0], q[e, 1], q[e + 1, 0], q[e + 1, 1])
        for i in range(4):
            for j in range(4):
                energy += shape[i] * stiff[e, i, j] * shape[j]
    return energy


@UNCOUNTED
def scale_to_balance(plates: Plates, q: Floats, memory: Floats) -> float:
    """Scale shapes (packs, nodes, 3) of a linear step from flat plates down, in place, with memory alike.

    Returns
    -------
    The greatest lift that is left. [m]
    """
    bent, stretched, last = 0.0, 0.0, plates.last
    for k in plates.present:
        relaxed = relax_radially(last[k], q[k], plates.slope[k], plates.membrane_matrix, memory[k])
        stretched += 2 * plates.stretching[k] * relaxed
        bent += bending_energy(last[k], q[k], plates.stiff[k])
    share = 1.0
    if 0 < bent < stretched:
        share = (bent / stretched) ** (1 / 3)
    for _ in range(SCALE_STEPS if bent > 0 else 0):
        share -= (bent * (share - 1) + stretched * share**3) / (bent + 3 * stretched * share**2)
    size = 0.0
    for k in plates.present:
        for n in range(1, last[k] + 1):
            q[k, n, 0] *= share
            q[k, n, 1] *= share
            q[k, n, 2] *= share * share
            size = max(size, abs(q[k, n, 0]))
    return size
