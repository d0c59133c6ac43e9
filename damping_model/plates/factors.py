"""Block factors of a plate's tangent, which is block tridiagonal: three unknowns at each node.

With 3x3 blocks K_nn on the diagonal and K_n,n-1 beside it, the factors of K = L P L^T are the pivots
P_n = K_nn - L_n K_n,n-1^T and L_n = K_n,n-1 P_n-1^-1, as in any book on linear algebra.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import UNCOUNTED_ENTRY, WRITTEN_IN

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@UNCOUNTED_ENTRY
def factor(m: int, diagonal: Floats, coupling: Floats, lower: Floats, pivot_inverse: Floats) -> bool:
    """Factor a tangent on nodes 1..m; False when it is not positive definite.

    ``pivot_inverse[n]`` is the inverse of the n-th pivot, ``lower[n] = coupling[n] pivot_inverse[n - 1]``,
    zero at the first node.
    """
    for i in range(3):
        for j in range(3):
            lower[1, i, j] = 0.0
    for node in range(1, m + 1):
        n, before = np.uint64(node), np.uint64(node - 1)
        a, b, c = diagonal[n, 0, 0], diagonal[n, 1, 0], diagonal[n, 2, 0]
        d, e, f = diagonal[n, 1, 1], diagonal[n, 2, 1], diagonal[n, 2, 2]
        if node > 1:
            for i in range(3):
                c0, c1, c2 = coupling[n, i, 0], coupling[n, i, 1], coupling[n, i, 2]
                for j in range(3):
                    lower[n, i, j] = (
                        c0 * pivot_inverse[before, 0, j]
                        + c1 * pivot_inverse[before, 1, j]
                        + c2 * pivot_inverse[before, 2, j]
                    )
            k00, k01, k02 = coupling[n, 0, 0], coupling[n, 0, 1], coupling[n, 0, 2]
            k10, k11, k12 = coupling[n, 1, 0], coupling[n, 1, 1], coupling[n, 1, 2]
            k20, k21, k22 = coupling[n, 2, 0], coupling[n, 2, 1], coupling[n, 2, 2]
            a -= lower[n, 0, 0] * k00 + lower[n, 0, 1] * k01 + lower[n, 0, 2] * k02
            b -= lower[n, 1, 0] * k00 + lower[n, 1, 1] * k01 + lower[n, 1, 2] * k02
            c -= lower[n, 2, 0] * k00 + lower[n, 2, 1] * k01 + lower[n, 2, 2] * k02
            d -= lower[n, 1, 0] * k10 + lower[n, 1, 1] * k11 + lower[n, 1, 2] * k12
            e -= lower[n, 2, 0] * k10 + lower[n, 2, 1] * k11 + lower[n, 2, 2] * k12
            f -= lower[n, 2, 0] * k20 + lower[n, 2, 1] * k21 + lower[n, 2, 2] * k22
        m00, m01, m02 = d * f - e * e, c * e - b * f, b * e - c * d
        det = a * m00 + b * m01 + c * m02
        if not (a > 0 and a * d - b * b > 0 and det > 0):
            return False
        s = 1 / det
        pivot_inverse[n, 0, 0] = m00 * s
        pivot_inverse[n, 0, 1] = pivot_inverse[n, 1, 0] = m01 * s
        pivot_inverse[n, 0, 2] = pivot_inverse[n, 2, 0] = m02 * s
        pivot_inverse[n, 1, 1] = (a * f - c * c) * s
        pivot_inverse[n, 1, 2] = pivot_inverse[n, 2, 1] = (b * c - a * e) * s
        pivot_inverse[n, 2, 2] = (a * d - b * b) * s
    return True


@WRITTEN_IN
def eliminate(
    k: int, n: int, z0: float, z1: float, z2: float, low: Floats, z: Floats
) -> tuple[float, float, float]:  # fmt: skip
    """Take the node before off node n of plate k, in place; what is there then."""
    z0, z1, z2 = (
        (z[k, n, 0] - low[k, n, 0, 0] * z0) - (low[k, n, 0, 1] * z1 + low[k, n, 0, 2] * z2),
        (z[k, n, 1] - low[k, n, 1, 0] * z0) - (low[k, n, 1, 1] * z1 + low[k, n, 1, 2] * z2),
        (z[k, n, 2] - low[k, n, 2, 0] * z0) - (low[k, n, 2, 1] * z1 + low[k, n, 2, 2] * z2),
    )
    z[k, n, 0], z[k, n, 1], z[k, n, 2] = z0, z1, z2
    return z0, z1, z2


@WRITTEN_IN
def substitute(
    k: int, n: int, h: int, x0: float, x1: float, x2: float, low: Floats, inv: Floats, z: Floats
) -> tuple[float, float, float]:  # fmt: skip
    """Solve for node n of plate k, in place, from what the next node h has; what is there then."""
    z0, z1, z2 = z[k, n, 0], z[k, n, 1], z[k, n, 2]
    z0, z1, z2 = (
        inv[k, n, 0, 0] * z0 + inv[k, n, 0, 1] * z1 + inv[k, n, 0, 2] * z2,
        inv[k, n, 1, 0] * z0 + inv[k, n, 1, 1] * z1 + inv[k, n, 1, 2] * z2,
        inv[k, n, 2, 0] * z0 + inv[k, n, 2, 1] * z1 + inv[k, n, 2, 2] * z2,
    )
    x0, x1, x2 = (
        (z0 - low[k, h, 0, 0] * x0) - (low[k, h, 1, 0] * x1 + low[k, h, 2, 0] * x2),
        (z1 - low[k, h, 0, 1] * x0) - (low[k, h, 1, 1] * x1 + low[k, h, 2, 1] * x2),
        (z2 - low[k, h, 0, 2] * x0) - (low[k, h, 1, 2] * x1 + low[k, h, 2, 2] * x2),
    )
    z[k, n, 0], z[k, n, 1], z[k, n, 2] = x0, x1, x2
    return x0, x1, x2


@UNCOUNTED_ENTRY
def solve_plates(present: Ints, last: Ints, lower: Floats, pivot_inverse: Floats, z: Floats) -> None:
    """Solve in place on z (plates, nodes, 3) by the factors of each plate in ``present``.

    Two plates at a time: a node waits for the one before it, but not for those of another plate.
    """
    # whole arrays and plain indices: a view of an array costs more than its row. Unsigned indices spare the
    # check for those from the end
    low, inv = lower, pivot_inverse
    for place in range(0, present.size, 2):
        one, m, two, o = present[place], last[present[place]], present[place], 0
        if place + 1 < present.size:
            two = present[place + 1]
            o = last[two]
        a, b, both = np.uint64(one), np.uint64(two), min(m, o)
        x0, x1, x2 = z[a, 1, 0], z[a, 1, 1], z[a, 1, 2]
        y0, y1, y2 = z[b, 1, 0], z[b, 1, 1], z[b, 1, 2]
        for node in range(2, both + 1):
            n = np.uint64(node)
            x0, x1, x2 = eliminate(a, n, x0, x1, x2, low, z)
            y0, y1, y2 = eliminate(b, n, y0, y1, y2, low, z)
        for node in range(max(both, 1) + 1, m + 1):
            x0, x1, x2 = eliminate(a, np.uint64(node), x0, x1, x2, low, z)
        for node in range(both + 1, o + 1):
            y0, y1, y2 = eliminate(b, np.uint64(node), y0, y1, y2, low, z)
        x0 = x1 = x2 = y0 = y1 = y2 = 0.0
        for node in range(m, both, -1):
            n = np.uint64(node)
            x0, x1, x2 = substitute(a, n, np.uint64(min(node + 1, m)), x0, x1, x2, low, inv, z)
        for node in range(o, both, -1):
            n = np.uint64(node)
            y0, y1, y2 = substitute(b, n, np.uint64(min(node + 1, o)), y0, y1, y2, low, inv, z)
        for node in range(both, 0, -1):
            n = np.uint64(node)
            x0, x1, x2 = substitute(a, n, np.uint64(min(node + 1, m)), x0, x1, x2, low, inv, z)
            y0, y1, y2 = substitute(b, n, np.uint64(min(node + 1, o)), y0, y1, y2, low, inv, z)


@UNCOUNTED_ENTRY
def inverse_diagonal(m: int, lower: Floats, pivot_inverse: Floats, inverse_blocks: Floats) -> None:
    """Fill in the diagonal blocks of the tangent's inverse on nodes 1..m, from its factors."""
    for i in range(3):
        for j in range(3):
            inverse_blocks[m, i, j] = pivot_inverse[m, i, j]
    for n in range(m - 1, 0, -1):
        h = n + 1
        for j in range(3):
            l0, l1, l2 = lower[h, 0, j], lower[h, 1, j], lower[h, 2, j]
            t0 = inverse_blocks[h, 0, 0] * l0 + inverse_blocks[h, 0, 1] * l1 + inverse_blocks[h, 0, 2] * l2
            t1 = inverse_blocks[h, 1, 0] * l0 + inverse_blocks[h, 1, 1] * l1 + inverse_blocks[h, 1, 2] * l2
            t2 = inverse_blocks[h, 2, 0] * l0 + inverse_blocks[h, 2, 1] * l1 + inverse_blocks[h, 2, 2] * l2
            for i in range(j, 3):
                v = pivot_inverse[n, i, j] + lower[h, 0, i] * t0 + lower[h, 1, i] * t1 + lower[h, 2, i] * t2
                inverse_blocks[n, i, j] = inverse_blocks[n, j, i] = v
