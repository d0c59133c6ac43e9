"""The contact points' compliance: how far each opens under a unit force at each other.

The tangent of each plate is factored on its own; plates meet only in the forces of the contact points. So a
step comes down to the small symmetric matrix of equation (14), G K^-1 G^T + c, of which the columns of active
rows are needed and no others. G is ``gradient``, the change of a row's opening with its plates' shapes.
"""

from __future__ import annotations

import numpy as np

from damping_model.plates.jit import PART, WRITTEN_IN
from damping_model.plates.workspace import Workspace


@WRITTEN_IN
def assemble_column(c: int, work: Workspace) -> None:
    """Find what a unit force of row c does to its plates, and to the rows that are assembled already."""
    # whole arrays and plain indices, and written into its caller: a view of an array, or a call that hands
    # over all of ``work``, costs more than the sums that it is for
    ends, compliance, gradient, response = work.ends, work.compliance, work.gradient, work.unit_response
    lower, inverse_blocks, pivot_inverse = work.lower, work.inverse_blocks, work.pivot_inverse
    rows_of_plate, first_node = work.rows_of_plate, work.first_node
    n, begin = ends[c, 2], first_node[c]
    least = np.inf
    compliance[c, c] = 0.0
    for side in range(2):
        plate = ends[c, side]
        if plate < 0:
            continue
        # K^-1 G^T at the force's own node, and from there inwards by back substitution
        b0, b1 = gradient[c, side, 2], gradient[c, side, 3]
        g0, g1, g2, a0, a1 = b0, b1, 0.0, 0.0, 0.0
        if begin < n:
            a0, a1 = gradient[c, side, 0], gradient[c, side, 1]
            g0 -= lower[plate, n, 0, 0] * a0 + lower[plate, n, 0, 1] * a1
            g1 -= lower[plate, n, 1, 0] * a0 + lower[plate, n, 1, 1] * a1
            g2 -= lower[plate, n, 2, 0] * a0 + lower[plate, n, 2, 1] * a1
        block = inverse_blocks
        u0 = block[plate, n, 0, 0] * g0 + block[plate, n, 0, 1] * g1 + block[plate, n, 0, 2] * g2
        u1 = block[plate, n, 1, 0] * g0 + block[plate, n, 1, 1] * g1 + block[plate, n, 1, 2] * g2
        u2 = block[plate, n, 2, 0] * g0 + block[plate, n, 2, 1] * g1 + block[plate, n, 2, 2] * g2
        response[c, side, n, 0], response[c, side, n, 1] = u0, u1
        own = b0 * u0 + b1 * u1
        for k in range(n - 1, 0, -1):
            z0, z1, z2, h = u0, u1, u2, k + 1
            u0 = -(lower[plate, h, 0, 0] * z0 + lower[plate, h, 1, 0] * z1 + lower[plate, h, 2, 0] * z2)
            u1 = -(lower[plate, h, 0, 1] * z0 + lower[plate, h, 1, 1] * z1 + lower[plate, h, 2, 1] * z2)
            u2 = -(lower[plate, h, 0, 2] * z0 + lower[plate, h, 1, 2] * z1 + lower[plate, h, 2, 2] * z2)
            if k == n - 1 and begin < n:
                u0 += pivot_inverse[plate, k, 0, 0] * a0 + pivot_inverse[plate, k, 0, 1] * a1
                u1 += pivot_inverse[plate, k, 1, 0] * a0 + pivot_inverse[plate, k, 1, 1] * a1
                u2 += pivot_inverse[plate, k, 2, 0] * a0 + pivot_inverse[plate, k, 2, 1] * a1
                own += a0 * u0 + a1 * u1
            response[c, side, k, 0], response[c, side, k, 1] = u0, u1
        # G of the other rows on this plate times that; or this row's times theirs where it reaches further
        count = rows_of_plate[plate, 0]
        for a in range(1, count + 1):
            other = rows_of_plate[plate, a]
            e, far = other >> 1, other & 1
            m = ends[e, 2]
            if m <= n:
                v = (
                    gradient[e, far, 2] * response[c, side, m, 0]
                    + gradient[e, far, 3] * response[c, side, m, 1]
                )
                if first_node[e] < m:
                    v += (
                        gradient[e, far, 0] * response[c, side, m - 1, 0]
                        + gradient[e, far, 1] * response[c, side, m - 1, 1]
                    )
            else:
                v = b0 * response[e, far, n, 0] + b1 * response[e, far, n, 1]
                if begin < n:
                    v += a0 * response[e, far, n - 1, 0] + a1 * response[e, far, n - 1, 1]
            row, column = max(c, e), min(c, e)
            # points between the same two plates meet on both
            if side == 1 and ends[e, 0] == ends[c, 0] >= 0 and ends[e, 1] == plate:
                compliance[row, column] += v
            else:
                compliance[row, column] = v
        compliance[c, c] += own
        least = min(least, own)
        rows_of_plate[plate, 0] = count + 1
        rows_of_plate[plate, count + 1] = 2 * c + side
    work.least_compliance[c] = least


@PART
def factor_compliance(same: int, count: int, softness: float, work: Workspace) -> bool:
    """Cholesky factor, in its envelope, of the active rows' compliance; the first ``same`` rows of it stand.

    False when the matrix is not positive definite.
    """
    cholesky, envelope, active_rows, ends = work.cholesky, work.envelope, work.active_rows, work.ends
    compliance, least_compliance, row_compliance = work.compliance, work.least_compliance, work.row_compliance
    first_of_pack = work.first_of_pack
    for k in range(first_of_pack.size):
        first_of_pack[k] = count
    for a in range(count):
        c = active_rows[a]
        begin = a
        for side in range(2):
            plate = ends[c, side]
            if plate >= 0:
                first_of_pack[plate] = min(first_of_pack[plate], a)
                begin = min(begin, first_of_pack[plate])
        if a < same:
            continue
        envelope[a] = begin
        for b in range(begin, a):
            d = active_rows[b]
            v = compliance[max(c, d), min(c, d)]
            # unsigned, which spares the check for indices from the end: a third of the time
            here, there = np.uint64(a), np.uint64(b)
            for k in range(np.uint64(max(begin, envelope[b])), there):
                v -= cholesky[here, k] * cholesky[there, k]
            cholesky[a, b] = v * cholesky[b, b]
        v = compliance[c, c] + softness * least_compliance[c] + row_compliance[c]
        for k in range(begin, a):
            v -= cholesky[a, k] * cholesky[a, k]
        if not v > 0:
            return False
        cholesky[a, a] = 1 / np.sqrt(v)
    return True
