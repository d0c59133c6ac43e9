"""The contact points' compliance: how far each opens under a unit force at each other.

The tangent of each plate is factored on its own; plates meet only in the forces of the contact points. So a
step comes down to the small symmetric matrix of equation (14), G K^-1 G^T + c, of which the columns of active
rows are needed and no others. G is ``gradient``, the change of a row's opening with its plates' shapes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import WRITTEN_IN
from damping_model.plates.workspace import Workspace

Floats = NDArray[np.float64]


@WRITTEN_IN
def respond_at_force(
    c: int,
    side: int,
    plate: int,
    n: int,
    wedge: bool,
    gradient: Floats,
    lower: Floats,
    inverse_blocks: Floats,
) -> tuple[float, float, float]:
    """Find what a unit force of row c does to one of its plates at the force's own node n."""
    g0, g1, g2, block = gradient[c, side, 2], gradient[c, side, 3], 0.0, inverse_blocks
    if wedge:
        a0, a1 = gradient[c, side, 0], gradient[c, side, 1]
        g0 -= lower[plate, n, 0, 0] * a0 + lower[plate, n, 0, 1] * a1
        g1 -= lower[plate, n, 1, 0] * a0 + lower[plate, n, 1, 1] * a1
        g2 -= lower[plate, n, 2, 0] * a0 + lower[plate, n, 2, 1] * a1
    return (
        block[plate, n, 0, 0] * g0 + block[plate, n, 0, 1] * g1 + block[plate, n, 0, 2] * g2,
        block[plate, n, 1, 0] * g0 + block[plate, n, 1, 1] * g1 + block[plate, n, 1, 2] * g2,
        block[plate, n, 2, 0] * g0 + block[plate, n, 2, 1] * g1 + block[plate, n, 2, 2] * g2,
    )


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
    # K^-1 G^T at the force's own node, and from there inwards by back substitution. On both plates at once,
    # since neither waits for the other; beside the ground its plate stands twice
    wedge = begin < n
    one = np.uint64(ends[c, 0] if ends[c, 0] >= 0 else ends[c, 1])
    two = np.uint64(ends[c, 1] if ends[c, 1] >= 0 else ends[c, 0])
    u0, u1, u2 = respond_at_force(c, 0, one, n, wedge, gradient, lower, inverse_blocks)
    v0, v1, v2 = respond_at_force(c, 1, two, n, wedge, gradient, lower, inverse_blocks)
    response[c, 0, n, 0], response[c, 0, n, 1] = u0, u1
    response[c, 1, n, 0], response[c, 1, n, 1] = v0, v1
    for k in range(n - 1, 0, -1):
        h, i = np.uint64(k + 1), np.uint64(k)
        x0, x1, x2, y0, y1, y2 = u0, u1, u2, v0, v1, v2
        u0 = -(lower[one, h, 0, 0] * x0 + lower[one, h, 1, 0] * x1 + lower[one, h, 2, 0] * x2)
        u1 = -(lower[one, h, 0, 1] * x0 + lower[one, h, 1, 1] * x1 + lower[one, h, 2, 1] * x2)
        u2 = -(lower[one, h, 0, 2] * x0 + lower[one, h, 1, 2] * x1 + lower[one, h, 2, 2] * x2)
        v0 = -(lower[two, h, 0, 0] * y0 + lower[two, h, 1, 0] * y1 + lower[two, h, 2, 0] * y2)
        v1 = -(lower[two, h, 0, 1] * y0 + lower[two, h, 1, 1] * y1 + lower[two, h, 2, 1] * y2)
        v2 = -(lower[two, h, 0, 2] * y0 + lower[two, h, 1, 2] * y1 + lower[two, h, 2, 2] * y2)
        if wedge and k == n - 1:
            a0, a1, b0, b1 = gradient[c, 0, 0], gradient[c, 0, 1], gradient[c, 1, 0], gradient[c, 1, 1]
            u0 += pivot_inverse[one, i, 0, 0] * a0 + pivot_inverse[one, i, 0, 1] * a1
            u1 += pivot_inverse[one, i, 1, 0] * a0 + pivot_inverse[one, i, 1, 1] * a1
            u2 += pivot_inverse[one, i, 2, 0] * a0 + pivot_inverse[one, i, 2, 1] * a1
            v0 += pivot_inverse[two, i, 0, 0] * b0 + pivot_inverse[two, i, 0, 1] * b1
            v1 += pivot_inverse[two, i, 1, 0] * b0 + pivot_inverse[two, i, 1, 1] * b1
            v2 += pivot_inverse[two, i, 2, 0] * b0 + pivot_inverse[two, i, 2, 1] * b1
        response[c, 0, i, 0], response[c, 0, i, 1] = u0, u1
        response[c, 1, i, 0], response[c, 1, i, 1] = v0, v1
    for side in range(2):
        plate = ends[c, side]
        if plate < 0:
            continue
        at = np.uint64(plate)
        a0, a1, b0, b1 = (
            gradient[c, side, 0],
            gradient[c, side, 1],
            gradient[c, side, 2],
            gradient[c, side, 3],
        )
        own = b0 * response[c, side, n, 0] + b1 * response[c, side, n, 1]
        if wedge:
            own += a0 * response[c, side, n - 1, 0] + a1 * response[c, side, n - 1, 1]
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
                if wedge:
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
