"""Which contact points press, and how hard, in one linear step.

The tangent of each plate is factored on its own; plates meet only in the forces of the contact points. So a
step comes down to a small symmetric matrix: how far each pressing point gives to a newton at each other.
Which of them press is found by block principal pivoting, which ends for every positive definite matrix; its
last resort is Murty's rule of changing one point at a time.

References
----------
.. [1] J. J. Judice and F. M. Pires, "A block principal pivoting algorithm for large-scale strictly monotone
   linear complementarity problems", Computers & Operations Research 21 (1994) 587-596.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.element import solve_plates
from damping_model.plates.jit import PART, WRITTEN_IN
from damping_model.plates.workspace import Work

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

FEW: Final = 8
"""Exchanges in one of the early steps, whose pressing points need not be the last word."""

FAILED: Final = -1
"""Stands for the number of pressing points where their matrix was not positive definite."""


@WRITTEN_IN
def learn(c: int, work: Work) -> None:
    """Find what one newton at point c does to its plates and at the points already learned."""
    # whole arrays and plain indices, and written into its caller: a view of an array, or a call that hands
    # over all of ``work``, costs more than the sums that it is for
    ends, gram, reach, moved = work.ends, work.gram, work.reach, work.moved
    pull, whole, inverse = work.pull, work.whole, work.inverse
    on_plate, start = work.on_plate, work.begin
    n, begin = ends[c, 2], start[c]
    least = np.inf
    gram[c, c] = 0.0
    for side in range(2):
        plate = ends[c, side]
        if plate < 0:
            continue
        b0, b1 = reach[c, side, 2], reach[c, side, 3]
        g0, g1, g2, a0, a1 = b0, b1, 0.0, 0.0, 0.0
        if begin < n:
            a0, a1 = reach[c, side, 0], reach[c, side, 1]
            g0 -= pull[plate, n, 0, 0] * a0 + pull[plate, n, 0, 1] * a1
            g1 -= pull[plate, n, 1, 0] * a0 + pull[plate, n, 1, 1] * a1
            g2 -= pull[plate, n, 2, 0] * a0 + pull[plate, n, 2, 1] * a1
        u0 = whole[plate, n, 0, 0] * g0 + whole[plate, n, 0, 1] * g1 + whole[plate, n, 0, 2] * g2
        u1 = whole[plate, n, 1, 0] * g0 + whole[plate, n, 1, 1] * g1 + whole[plate, n, 1, 2] * g2
        u2 = whole[plate, n, 2, 0] * g0 + whole[plate, n, 2, 1] * g1 + whole[plate, n, 2, 2] * g2
        moved[c, side, n, 0], moved[c, side, n, 1] = u0, u1
        own = b0 * u0 + b1 * u1
        for k in range(n - 1, 0, -1):
            z0, z1, z2, h = u0, u1, u2, k + 1
            u0 = -(pull[plate, h, 0, 0] * z0 + pull[plate, h, 1, 0] * z1 + pull[plate, h, 2, 0] * z2)
            u1 = -(pull[plate, h, 0, 1] * z0 + pull[plate, h, 1, 1] * z1 + pull[plate, h, 2, 1] * z2)
            u2 = -(pull[plate, h, 0, 2] * z0 + pull[plate, h, 1, 2] * z1 + pull[plate, h, 2, 2] * z2)
            if k == n - 1 and begin < n:
                u0 += inverse[plate, k, 0, 0] * a0 + inverse[plate, k, 0, 1] * a1
                u1 += inverse[plate, k, 1, 0] * a0 + inverse[plate, k, 1, 1] * a1
                u2 += inverse[plate, k, 2, 0] * a0 + inverse[plate, k, 2, 1] * a1
                own += a0 * u0 + a1 * u1
            moved[c, side, k, 0], moved[c, side, k, 1] = u0, u1
        count = on_plate[plate, 0]
        for a in range(1, count + 1):
            other = on_plate[plate, a]
            e, far = other >> 1, other & 1
            m = ends[e, 2]
            if m <= n:
                v = reach[e, far, 2] * moved[c, side, m, 0] + reach[e, far, 3] * moved[c, side, m, 1]
                if start[e] < m:
                    v += (
                        reach[e, far, 0] * moved[c, side, m - 1, 0]
                        + reach[e, far, 1] * moved[c, side, m - 1, 1]
                    )
            else:
                v = b0 * moved[e, far, n, 0] + b1 * moved[e, far, n, 1]
                if begin < n:
                    v += a0 * moved[e, far, n - 1, 0] + a1 * moved[e, far, n - 1, 1]
            row, column = max(c, e), min(c, e)
            # points between the same two plates meet on both
            if side == 1 and ends[e, 0] == ends[c, 0] >= 0 and ends[e, 1] == plate:
                gram[row, column] += v
            else:
                gram[row, column] = v
        gram[c, c] += own
        least = min(least, own)
        on_plate[plate, 0] = count + 1
        on_plate[plate, count + 1] = 2 * c + side
    work.own[c] = least


@PART
def factor_give(same: int, count: int, soft: float, work: Work) -> bool:
    """Cholesky factor, in its envelope, of the pressing rows' matrix, of which the first ``same`` stand."""
    s, first, pressing, ends, lead = work.s, work.first, work.pressing, work.ends, work.lead
    gram, own, dent = work.gram, work.own, work.dent
    for k in range(lead.size):
        lead[k] = count
    for a in range(count):
        c = pressing[a]
        begin = a
        for side in range(2):
            plate = ends[c, side]
            if plate >= 0:
                lead[plate] = min(lead[plate], a)
                begin = min(begin, lead[plate])
        if a < same:
            continue
        first[a] = begin
        for b in range(begin, a):
            d = pressing[b]
            v = gram[max(c, d), min(c, d)]
            # unsigned, which spares the check for indices from the end: a third of the time
            here, there = np.uint64(a), np.uint64(b)
            for k in range(np.uint64(max(begin, first[b])), there):
                v -= s[here, k] * s[there, k]
            s[a, b] = v * s[b, b]
        v = gram[c, c] + soft * own[c] + dent[c]
        for k in range(begin, a):
            v -= s[a, k] * s[a, k]
        if not v > 0:
            return False
        s[a, a] = 1 / np.sqrt(v)
    return True


@PART
def solve_forces(count: int, work: Work) -> float:
    """Forces ``work.x`` that close the pressing points under the displacements ``work.z``; the greatest."""
    s, first, x, ends, pressing = work.s, work.first, work.x, work.ends, work.pressing
    z, reach, start, gap, points = work.z, work.reach, work.begin, work.gap, work.tie.size
    for a in range(count):
        c = pressing[a]
        n, begin = ends[c, 2], start[c]
        v = -gap[c]
        for side in range(2):
            plate = ends[c, side]
            if plate >= 0:
                v -= reach[c, side, 2] * z[plate, n, 0] + reach[c, side, 3] * z[plate, n, 1]
                if begin < n:
                    v -= reach[c, side, 0] * z[plate, n - 1, 0] + reach[c, side, 1] * z[plate, n - 1, 1]
        for k in range(first[a], a):
            v -= s[a, k] * x[k]
        x[a] = v * s[a, a]
    biggest = 0.0
    for a in range(count - 1, -1, -1):
        x[a] *= s[a, a]
        for k in range(first[a], a):
            x[k] -= s[a, k] * x[a]
        if pressing[a] < points:
            biggest = max(biggest, abs(x[a]))
    return biggest


@PART
def push_on(count: int, forces: Floats, work: Work, pushed: Floats) -> None:
    """Add the forces of the pressing rows to loads (packs, nodes, 3)."""
    pressing, ends, start, reach = work.pressing, work.ends, work.begin, work.reach
    for a in range(count):
        c = pressing[a]
        n, push = ends[c, 2], forces[a]
        for side in range(2):
            plate = ends[c, side]
            if plate >= 0:
                pushed[plate, n, 0] += push * reach[c, side, 2]
                pushed[plate, n, 1] += push * reach[c, side, 3]
                if start[c] < n:
                    pushed[plate, n - 1, 0] += push * reach[c, side, 0]
                    pushed[plate, n - 1, 1] += push * reach[c, side, 1]


@PART
def push_through(count: int, plates: Ints, last: Ints, work: Work, d: Floats) -> None:
    """Displacements d from the loads ``work.load`` and the forces ``work.x`` of the pressing points."""
    load = work.load
    for plate in plates:
        for n in range(1, last[plate] + 1):
            for i in range(3):
                d[plate, n, i] = load[plate, n, i]
    push_on(count, work.x, work, d)
    solve_plates(plates, last, work.pull, work.inverse, d)


@PART
def wrong_points(biggest: float, tight: float, active: Flags, force: Floats, work: Work) -> int:
    """List in ``work.wrong`` the points that pull or would overlap, in ``work.excess`` by how far.

    Returns their number.
    """
    ends, d, reach, start, gap, bonded = work.ends, work.d, work.reach, work.begin, work.gap, work.bonded
    listed, by, gram = work.wrong, work.excess, work.gram
    bad = 0
    for c in range(active.size):
        if bonded[c]:
            continue
        if active[c]:
            wrong, excess = force[c] < -NO_PULL * max(tight, 1e-8) * biggest, -force[c] * gram[c, c]
        else:
            n, v = ends[c, 2], gap[c]
            for side in range(2):
                plate = ends[c, side]
                if plate >= 0:
                    v += reach[c, side, 2] * d[plate, n, 0] + reach[c, side, 3] * d[plate, n, 1]
                    if start[c] < n:
                        v += reach[c, side, 0] * d[plate, n - 1, 0] + reach[c, side, 1] * d[plate, n - 1, 1]
            wrong, excess = v < -NO_PENETRATION * max(tight, 1e-8), -v
        if wrong:
            listed[bad], by[bad] = c, excess
            bad += 1
    return bad


@WRITTEN_IN
def call_up(active: Flags, before: int, work: Work) -> tuple[int, int]:
    """List the rows that press, ``before`` of them the last time; their number, and how many stay first."""
    tie, live, pressing, learned = work.tie, work.live, work.pressing, work.learned
    count, same = 0, 0
    for c in range(active.size):
        if not active[c]:
            continue
        tied = tie[c] >= 0 and live[tie[c]]
        for part in range(2 if tied else 1):
            row = tie[c] if part else c
            if same == count < before and pressing[count] == row:
                same += 1
            pressing[count] = row
            count += 1
            if not learned[row]:
                learn(row, work)
                learned[row] = True
    return count, same


@PART
def press(
    active: Flags, force: Floats, plates: Ints, last: Ints, soft: float,
    tight: float, thorough: bool, work: Work,
) -> tuple[int, bool]:  # fmt: skip
    """Take one linear step from q with contact.

    ``active`` holds the guess and receives the answer; ``force`` receives the force per radian of every
    point, ``work.d`` the displacements.

    Returns
    -------
    Number of pressing points, and whether a consistent set was found.
    """
    total = active.size
    learned, on_plate, bonded, pressing = work.learned, work.on_plate, work.bonded, work.pressing
    x, wrong, excess = work.x, work.wrong, work.excess
    count, best, patience = 0, total + 1, PATIENCE
    for row in range(learned.size):
        learned[row] = False
    for plate in range(on_plate.shape[0]):
        on_plate[plate, 0] = 0
    for c in range(total):
        active[c] = active[c] or bonded[c]
    for _ in range(60 + 4 * total if thorough else FEW):
        count, same = call_up(active, count, work)
        if not factor_give(same, count, soft, work):
            return FAILED, False
        biggest = solve_forces(count, work)
        push_through(count, plates, last, work, work.d)
        for c in range(total):
            force[c] = 0.0
        for a in range(count):
            if pressing[a] < total:
                force[pressing[a]] = x[a]
        bad = wrong_points(biggest, tight, active, force, work)
        if bad == 0:
            return count, True
        patience = patience - 1 if bad >= best else PATIENCE
        best = min(best, bad)
        begin, end = 0, bad
        if patience < -WORST_FIRST:
            begin = bad - 1
        elif patience < 0:
            for a in range(1, bad):
                begin = a if excess[a] > excess[begin] else begin
            end = begin + 1
        for a in range(begin, end):
            active[wrong[a]] = not active[wrong[a]]
    return count, False
