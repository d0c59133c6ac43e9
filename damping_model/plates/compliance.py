"""The contact points' compliance: how far each opens under a unit force at each other.

The tangent of each plate is factored on its own; plates meet only in the forces of the contact points. So a
step comes down to the small symmetric matrix of equation (14), G K^-1 G^T + c, of which the columns of active
rows are needed and no others. G is ``gradient``, the change of a row's opening with its plates' shapes.
"""

from __future__ import annotations

import numpy as np

from damping_model.plates.jit import WRITTEN_IN
from damping_model.plates.workspace import Workspace


@WRITTEN_IN
def assemble_column(c: int, work: Workspace) -> None:
    """Find what a unit force of row c does to its plates, and to the rows that are assembled already."""
    # whole arrays and plain indices, and written into its caller: a view of an array, or a call that hands
    # over all of ``work``, costs more than the sums that it is for
    ends, compliance, gradient, response = work.ends, work.compliance, work.gradient, work.unit_response
    lower, inverse_blocks, pivot_inverse = work.lower, work.inverse_blocks, work.pivot_inverse
    rows_of_plate, first_node, place = work.rows_of_plate, work.first_node, work.place
    n, begin = ends[c, 2], first_node[c]
    least, here = np.inf, place[c]
    compliance[here, 0] = 0.0
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
        at = np.uint64(plate)
        for k in range(n - 1, 0, -1):
            z0, z1, z2, h, i = u0, u1, u2, np.uint64(k + 1), np.uint64(k)
            u0 = -(lower[at, h, 0, 0] * z0 + lower[at, h, 1, 0] * z1 + lower[at, h, 2, 0] * z2)
            u1 = -(lower[at, h, 0, 1] * z0 + lower[at, h, 1, 1] * z1 + lower[at, h, 2, 1] * z2)
            u2 = -(lower[at, h, 0, 2] * z0 + lower[at, h, 1, 2] * z1 + lower[at, h, 2, 2] * z2)
            if k == n - 1 and begin < n:
                u0 += pivot_inverse[at, i, 0, 0] * a0 + pivot_inverse[at, i, 0, 1] * a1
                u1 += pivot_inverse[at, i, 1, 0] * a0 + pivot_inverse[at, i, 1, 1] * a1
                u2 += pivot_inverse[at, i, 2, 0] * a0 + pivot_inverse[at, i, 2, 1] * a1
                own += a0 * u0 + a1 * u1
            response[c, side, i, 0], response[c, side, i, 1] = u0, u1
        # G of the other rows on this plate times that; or this row's times theirs where it reaches further
        count = rows_of_plate[plate, 0]
        for a in range(1, count + 1):
            other = rows_of_plate[at, np.uint64(a)]
            e, far = np.uint64(other >> 1), np.uint64(other & 1)
            m = ends[e, 2]
            if m <= n:
                i = np.uint64(m)
                v = (
                    gradient[e, far, 2] * response[c, side, i, 0]
                    + gradient[e, far, 3] * response[c, side, i, 1]
                )
                if first_node[e] < m:
                    i = np.uint64(m - 1)
                    v += (
                        gradient[e, far, 0] * response[c, side, i, 0]
                        + gradient[e, far, 1] * response[c, side, i, 1]
                    )
            else:
                i = np.uint64(n)
                v = b0 * response[e, far, i, 0] + b1 * response[e, far, i, 1]
                if begin < n:
                    i = np.uint64(n - 1)
                    v += a0 * response[e, far, i, 0] + a1 * response[e, far, i, 1]
            row, apart = np.uint64(max(here, place[e])), np.uint64(abs(here - place[e]))
            # points between the same two plates meet on both
            if side == 1 and ends[e, 0] == ends[c, 0] >= 0 and ends[e, 1] == plate:
                compliance[row, apart] += v
            else:
                compliance[row, apart] = v
        compliance[here, 0] += own
        least = min(least, own)
        rows_of_plate[plate, 0] = count + 1
        rows_of_plate[plate, count + 1] = 2 * c + side
    work.least_compliance[c] = least
