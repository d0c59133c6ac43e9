"""Cholesky factor of the active rows' compliance, equation (14), within its band.

A plate touches its neighbours alone, so a row meets only the rows on its own two plates: those of the pack
before, of its own and of the next. The work grows with the number of packs and not with its cube.

The factor is kept in one array, ``work.cholesky``, a row of the band after the other: see
:class:`damping_model.plates.workspace.Workspace`. Indices are unsigned where they count, which spares the
check for those from the end.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.jit import UNCOUNTED, WRITTEN_IN
from damping_model.plates.workspace import Workspace

Floats = NDArray[np.float64]


@UNCOUNTED
def factor_compliance(same: int, count: int, softness: float, work: Workspace) -> bool:
    """Cholesky factor, in its envelope, of the active rows' compliance; the first ``same`` rows of it stand.

    Rows are factored by twos: see :func:`factor_two_rows`. False when the matrix is not positive definite.
    """
    cholesky, envelope, active_rows, ends = work.cholesky, work.envelope, work.active_rows, work.ends
    compliance, least_compliance, row_compliance = work.compliance, work.least_compliance, work.row_compliance
    first_of_pack, place, width = work.first_of_pack, work.place, work.compliance.shape[1]
    for k in range(first_of_pack.size):
        first_of_pack[k] = count
    for a in range(count):
        c, begin = active_rows[a], a
        for side in range(2):
            plate = ends[c, side]
            if plate >= 0:
                first_of_pack[plate] = min(first_of_pack[plate], a)
                begin = min(begin, first_of_pack[plate])
        envelope[a] = begin
    for first in range(same, count, 2):
        # one row too many is factored as a row of the unit matrix
        begin = envelope[first]
        if first + 1 < count:
            begin = min(begin, envelope[first + 1])
        for a in range(first, first + 2):
            row = a * (width - 1) + width - 1
            for k in range(max(0, a - width + 1), a):
                cholesky[np.uint64(row + k)] = 0.0
            if a == count:
                cholesky[row + a] = 1.0
                continue
            c = active_rows[a]
            here = place[c]
            at = np.uint64(here)
            for k in range(envelope[a], a):
                apart = np.uint64(here - place[np.uint64(active_rows[np.uint64(k)])])
                cholesky[np.uint64(row + k)] = compliance[at, apart]
            cholesky[row + a] = compliance[here, 0] + softness * least_compliance[c] + row_compliance[c]
        if not factor_two_rows(begin, first, width, cholesky):
            return False
    return True


@WRITTEN_IN
def factor_two_rows(begin: int, a: int, width: int, cholesky: Floats) -> bool:
    """Factor rows a and a + 1 of a banded matrix, whose columns before ``begin`` are zero, in place.

    Against four columns at a time: eight sums that do not wait for one another take little longer than one.
    False when the matrix is not positive definite.
    """
    stride = width - 1
    one, two = a * stride + stride, (a + 1) * stride + stride
    for b in range(begin, a - 3, 4):
        c0 = b * stride + stride
        c1, c2, c3 = c0 + stride, c0 + 2 * stride, c0 + 3 * stride
        s0, s1 = cholesky[np.uint64(one + b)], cholesky[np.uint64(one + b + 1)]
        s2, s3 = cholesky[np.uint64(one + b + 2)], cholesky[np.uint64(one + b + 3)]
        t0, t1 = cholesky[np.uint64(two + b)], cholesky[np.uint64(two + b + 1)]
        t2, t3 = cholesky[np.uint64(two + b + 2)], cholesky[np.uint64(two + b + 3)]
        for k in range(begin, b):
            v0, v1 = cholesky[np.uint64(c0 + k)], cholesky[np.uint64(c1 + k)]
            v2, v3 = cholesky[np.uint64(c2 + k)], cholesky[np.uint64(c3 + k)]
            x, y = cholesky[np.uint64(one + k)], cholesky[np.uint64(two + k)]
            s0, s1, s2, s3 = s0 - x * v0, s1 - x * v1, s2 - x * v2, s3 - x * v3
            t0, t1, t2, t3 = t0 - y * v0, t1 - y * v1, t2 - y * v2, t3 - y * v3
        p = cholesky[np.uint64(c0 + b)]
        s0, t0 = s0 * p, t0 * p
        v0, p = cholesky[np.uint64(c1 + b)], cholesky[np.uint64(c1 + b + 1)]
        s1, t1 = (s1 - s0 * v0) * p, (t1 - t0 * v0) * p
        v0, v1 = cholesky[np.uint64(c2 + b)], cholesky[np.uint64(c2 + b + 1)]
        p = cholesky[np.uint64(c2 + b + 2)]
        s2, t2 = (s2 - s0 * v0 - s1 * v1) * p, (t2 - t0 * v0 - t1 * v1) * p
        v0, v1 = cholesky[np.uint64(c3 + b)], cholesky[np.uint64(c3 + b + 1)]
        v2, p = cholesky[np.uint64(c3 + b + 2)], cholesky[np.uint64(c3 + b + 3)]
        s3, t3 = (s3 - s0 * v0 - s1 * v1 - s2 * v2) * p, (t3 - t0 * v0 - t1 * v1 - t2 * v2) * p
        cholesky[np.uint64(one + b)], cholesky[np.uint64(one + b + 1)] = s0, s1
        cholesky[np.uint64(one + b + 2)], cholesky[np.uint64(one + b + 3)] = s2, s3
        cholesky[np.uint64(two + b)], cholesky[np.uint64(two + b + 1)] = t0, t1
        cholesky[np.uint64(two + b + 2)], cholesky[np.uint64(two + b + 3)] = t2, t3
    for b in range(a - (a - begin) % 4, a):
        c0 = b * stride + stride
        s0, t0 = cholesky[np.uint64(one + b)], cholesky[np.uint64(two + b)]
        for k in range(begin, b):
            v0 = cholesky[np.uint64(c0 + k)]
            s0 -= cholesky[np.uint64(one + k)] * v0
            t0 -= cholesky[np.uint64(two + k)] * v0
        p = cholesky[np.uint64(c0 + b)]
        cholesky[np.uint64(one + b)], cholesky[np.uint64(two + b)] = s0 * p, t0 * p
    s0, t0, t1 = cholesky[one + a], cholesky[two + a], cholesky[two + a + 1]
    for k in range(begin, a):
        x, y = cholesky[np.uint64(one + k)], cholesky[np.uint64(two + k)]
        s0 -= x * x
        t0 -= x * y
        t1 -= y * y
    # the second pivot is det / s0: so neither root waits for the other
    det = s0 * t1 - t0 * t0
    if not (s0 > 0 and det > 0):
        return False
    p = np.sqrt(1 / s0)
    cholesky[one + a], cholesky[two + a], cholesky[two + a + 1] = p, t0 * p, np.sqrt(s0 / det)
    return True
