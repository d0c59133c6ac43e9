"""Inner forces and tangent of a plate, put together from its elements: equations (5) to (7).

Three functions go through the same element with the same slopes s_a, s_b of w at two Gauss points: one fills
in forces and tangent, one takes the forces alone off a residual, one takes the tangent's product with a
direction off it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import UNCOUNTED, UNCOUNTED_ENTRY, WRITTEN_IN

Floats = NDArray[np.float64]


@WRITTEN_IN
def gauss_slopes(e: int, q: Floats, slope: Floats) -> tuple[float, float]:
    """Slopes w' of an element at its two Gauss points, for shapes or their change q (nodes, 3). [-]"""
    w1, p1, w2, p2 = q[e, 0], q[e, 1], q[e + 1, 0], q[e + 1, 1]
    return (
        slope[e, 0, 0] * w1 + slope[e, 0, 1] * p1 + slope[e, 0, 2] * w2 + slope[e, 0, 3] * p2,
        slope[e, 1, 0] * w1 + slope[e, 1, 1] * p1 + slope[e, 1, 2] * w2 + slope[e, 1, 3] * p2,
    )


@WRITTEN_IN
def membrane_force(e: int, i: int, matrix: Floats, ea: float, eb: float, u1: float, u2: float) -> float:
    """Row i of equation (5): n_a, n_b, f_u1, f_u2 for strains of bow ea, eb and radial displacements."""
    return float(matrix[e, i, 0] * ea + matrix[e, i, 1] * eb + matrix[e, i, 2] * u1 + matrix[e, i, 3] * u2)


@WRITTEN_IN
def inner_force(e: int, i: int, fa: float, fb: float, slope: Floats, stiff: Floats, q: Floats) -> float:
    """Force i of equation (6), with fa = n_a s_a and fb = n_b s_b."""
    return float(
        fa * slope[e, 0, i] + fb * slope[e, 1, i]
        + stiff[e, i, 0] * q[e, 0] + stiff[e, i, 1] * q[e, 1]
        + stiff[e, i, 2] * q[e + 1, 0] + stiff[e, i, 3] * q[e + 1, 1]
    )  # fmt: skip


@UNCOUNTED_ENTRY
def assemble(
    m: int, q: Floats, stretching: float, matrix: Floats, stiff: Floats, slope: Floats, diagonal: Floats,
    coupling: Floats, force: Floats,
) -> None:  # fmt: skip
    """Fill in a plate's inner forces and its tangent as 3x3 blocks.

    Parameters
    ----------
    m : number of elements.
    q : shapes (nodes, 3).
    stretching : C of the plate. [N/m]
    matrix : from :func:`damping_model.plates.element.membrane_integrals` (elements, 4, 4).
    stiff, slope : from :func:`damping_model.plates.element.plate_elements`.
    diagonal : receives the block of each node with itself, lower half (nodes, 3, 3).
    coupling : receives the block of each node with the node before (nodes, 3, 3).
    force : receives the inner forces (nodes, 3).
    """
    for i in range(3):
        force[0, i] = 0.0
        for j in range(3):
            diagonal[0, i, j] = 0.0
    for e in range(m):
        w1, p1, u1 = q[e, 0], q[e, 1], q[e, 2]
        w2, p2, u2 = q[e + 1, 0], q[e + 1, 1], q[e + 1, 2]
        a0, a1, a2, a3 = slope[e, 0, 0], slope[e, 0, 1], slope[e, 0, 2], slope[e, 0, 3]
        b0, b1, b2, b3 = slope[e, 1, 0], slope[e, 1, 1], slope[e, 1, 2], slope[e, 1, 3]
        # (5), with C M as plain numbers, which the tangent needs too
        sa, sb = gauss_slopes(e, q, slope)
        ea, eb = 0.5 * sa * sa, 0.5 * sb * sb
        m00, m01 = stretching * matrix[e, 0, 0], stretching * matrix[e, 0, 1]
        m02, m03 = stretching * matrix[e, 0, 2], stretching * matrix[e, 0, 3]
        m11, m12, m13 = (
            stretching * matrix[e, 1, 1],
            stretching * matrix[e, 1, 2],
            stretching * matrix[e, 1, 3],
        )
        m22, m23, m33 = (
            stretching * matrix[e, 2, 2],
            stretching * matrix[e, 2, 3],
            stretching * matrix[e, 3, 3],
        )
        na = m00 * ea + m01 * eb + m02 * u1 + m03 * u2
        nb = m01 * ea + m11 * eb + m12 * u1 + m13 * u2
        # (7): c and d are the membrane part's factors of a and of b
        ga, gb, mixed = na + m00 * sa * sa, nb + m11 * sb * sb, m01 * sa * sb
        c0, c1 = ga * a0 + mixed * b0, ga * a1 + mixed * b1
        c2, c3 = ga * a2 + mixed * b2, ga * a3 + mixed * b3
        d0, d1 = mixed * a0 + gb * b0, mixed * a1 + gb * b1
        d2, d3 = mixed * a2 + gb * b2, mixed * a3 + gb * b3
        k10, k20, k30 = stiff[e, 1, 0], stiff[e, 2, 0], stiff[e, 3, 0]
        k21, k31, k32 = stiff[e, 2, 1], stiff[e, 3, 1], stiff[e, 3, 2]
        k00, k11, k22, k33 = stiff[e, 0, 0], stiff[e, 1, 1], stiff[e, 2, 2], stiff[e, 3, 3]
        # (6), with the lower half of K alone
        fa, fb = na * sa, nb * sb
        v, h = m02 * sa, m12 * sb
        force[e, 0] += fa * a0 + fb * b0 + k00 * w1 + k10 * p1 + k20 * w2 + k30 * p2
        force[e, 1] += fa * a1 + fb * b1 + k10 * w1 + k11 * p1 + k21 * w2 + k31 * p2
        force[e, 2] += m02 * ea + m12 * eb + m22 * u1 + m23 * u2
        diagonal[e, 0, 0] += k00 + a0 * c0 + b0 * d0
        diagonal[e, 1, 0] += k10 + a1 * c0 + b1 * d0
        diagonal[e, 1, 1] += k11 + a1 * c1 + b1 * d1
        diagonal[e, 2, 0] += v * a0 + h * b0
        diagonal[e, 2, 1] += v * a1 + h * b1
        diagonal[e, 2, 2] += m22
        n = e + 1
        coupling[n, 0, 0] = k20 + a2 * c0 + b2 * d0
        coupling[n, 0, 1] = k21 + a2 * c1 + b2 * d1
        coupling[n, 0, 2] = v * a2 + h * b2
        coupling[n, 1, 0] = k30 + a3 * c0 + b3 * d0
        coupling[n, 1, 1] = k31 + a3 * c1 + b3 * d1
        coupling[n, 1, 2] = v * a3 + h * b3
        v, h = m03 * sa, m13 * sb
        coupling[n, 2, 0] = v * a0 + h * b0
        coupling[n, 2, 1] = v * a1 + h * b1
        coupling[n, 2, 2] = m23
        force[n, 0] = fa * a2 + fb * b2 + k20 * w1 + k21 * p1 + k22 * w2 + k32 * p2
        force[n, 1] = fa * a3 + fb * b3 + k30 * w1 + k31 * p1 + k32 * w2 + k33 * p2
        force[n, 2] = m03 * ea + m13 * eb + m23 * u1 + m33 * u2
        diagonal[n, 0, 0] = k22 + a2 * c2 + b2 * d2
        diagonal[n, 1, 0] = k32 + a3 * c2 + b3 * d2
        diagonal[n, 1, 1] = k33 + a3 * c3 + b3 * d3
        diagonal[n, 2, 0] = v * a2 + h * b2
        diagonal[n, 2, 1] = v * a3 + h * b3
        diagonal[n, 2, 2] = m33


@UNCOUNTED
def subtract_inner_forces(
    m: int, q: Floats, stretching: float, matrix: Floats, stiff: Floats, slope: Floats, residual: Floats
) -> None:
    """Take a plate's inner forces at q off a residual (nodes, 3): those of :func:`assemble`."""
    for e in range(m):
        sa, sb = gauss_slopes(e, q, slope)
        ea, eb = 0.5 * stretching * sa * sa, 0.5 * stretching * sb * sb
        u1, u2 = stretching * q[e, 2], stretching * q[e + 1, 2]
        na = membrane_force(e, 0, matrix, ea, eb, u1, u2)
        nb = membrane_force(e, 1, matrix, ea, eb, u1, u2)
        fa, fb = na * sa, nb * sb
        for i in range(2):
            residual[e + i, 2] -= membrane_force(e, 2 + i, matrix, ea, eb, u1, u2)
        for i in range(4):
            residual[e + i // 2, i % 2] -= inner_force(e, i, fa, fb, slope, stiff, q)


@UNCOUNTED
def subtract_tangent_product(
    m: int, q: Floats, dq: Floats, stretching: float, matrix: Floats, stiff: Floats, slope: Floats, residual:
    Floats,
) -> None:  # fmt: skip
    """Take the change of a plate's inner forces at q along dq (nodes, 3) off a residual: (7) times dq."""
    for e in range(m):
        sa, sb = gauss_slopes(e, q, slope)
        va, vb = gauss_slopes(e, dq, slope)
        ea, eb = 0.5 * stretching * sa * sa, 0.5 * stretching * sb * sb
        u1, u2 = stretching * q[e, 2], stretching * q[e + 1, 2]
        na = membrane_force(e, 0, matrix, ea, eb, u1, u2)
        nb = membrane_force(e, 1, matrix, ea, eb, u1, u2)
        ea, eb = stretching * sa * va, stretching * sb * vb
        u1, u2 = stretching * dq[e, 2], stretching * dq[e + 1, 2]
        da = membrane_force(e, 0, matrix, ea, eb, u1, u2)
        db = membrane_force(e, 1, matrix, ea, eb, u1, u2)
        for i in range(2):
            residual[e + i, 2] -= membrane_force(e, 2 + i, matrix, ea, eb, u1, u2)
        fa, fb = da * sa + na * va, db * sb + nb * vb
        for i in range(4):
            residual[e + i // 2, i % 2] -= inner_force(e, i, fa, fb, slope, stiff, dq)
