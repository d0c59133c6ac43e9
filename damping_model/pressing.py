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

from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from damping_model.contact import Contacts
from damping_model.plate import backward

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

NO_PENETRATION: Final = 1e-6
"""Overlap below which a point counts as open, per tolerance. [m]"""

NO_PULL: Final = 1e-3
"""Pull below which a point counts as pressing, as a share of the greatest force and per tolerance. [-]"""

PATIENCE: Final = 4
"""Exchanges of the whole block that may fail to better the count before only the worst point changes."""

WORST_FIRST: Final = 8
"""Changes of the worst point that may fail to better the count before points change in their own order."""

FEW: Final = 8
"""Exchanges in one of the early steps, whose pressing points need not be the last word."""

FAILED: Final = -1
"""Stands for the number of pressing points where their matrix was not positive definite."""


class Work(NamedTuple):
    """Memory of one curve's steps. Packs first, then nodes; ``gram`` and ``s`` are contact points squared.

    ``on_plate`` lists, after their number, the known points of each plate as twice the point plus its side.
    """

    diagonal: Floats
    coupling: Floats
    pull: Floats
    inverse: Floats
    inner: Floats
    z: Floats
    d: Floats
    half: Floats
    whole: Floats
    gram: Floats
    own: Floats
    s: Floats
    first: Ints
    pressing: Ints
    on_plate: Ints
    wrong: Ints
    excess: Floats
    gap: Floats
    x: Floats
    reach: Floats
    dent: Floats
    begin: Ints
    before: Floats


@njit(cache=True, nogil=True, error_model="numpy")
def work_space(packs: int, nodes: int, points: int) -> Work:
    """Memory for stacks of so many packs, grid nodes and contact points."""
    blocks, shape = (packs, nodes, 3, 3), (packs, nodes, 3)
    columns, square = (points, 2, nodes, 3), (points, points)
    return Work(
        np.empty(blocks), np.empty(blocks), np.empty(blocks), np.empty(blocks),
        np.zeros(shape), np.zeros(shape), np.zeros(shape),
        np.empty(columns), np.empty(columns), np.empty(square), np.empty(points), np.empty(square),
        np.empty(points, np.int64), np.empty(points, np.int64), np.empty((packs, points + 1), np.int64),
        np.empty(points, np.int64), np.empty(points), np.empty(points), np.empty(points),
        np.zeros((points, 2, 4)), np.empty(points), np.empty(points, np.int64), np.zeros((points, 2)),
    )  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy")
def overlap(y: Floats, t: Floats, first: int, end: int) -> float:
    """Sum of products over the nodes first..end."""
    s = 0.0
    for n in range(first, end + 1):
        s += y[n, 0] * t[n, 0] + y[n, 1] * t[n, 1] + y[n, 2] * t[n, 2]
    return s


@njit(cache=True, nogil=True, error_model="numpy")
def learn(c: int, contacts: Contacts, last: Ints, work: Work) -> None:
    """Find what one newton at point c does to its plates and at the points on them already known."""
    half, whole = work.half, work.whole
    n, reach = contacts.ends[c, 2], work.reach
    work.own[c] = np.inf
    for side in range(2):
        plate = contacts.ends[c, side]
        if plate < 0:
            continue
        y, t, inv, pull = half[c, side], whole[c, side], work.inverse[plate], work.pull[plate]
        end, begin = last[plate], work.begin[c]
        y0, y1, y2 = reach[c, side, 2], reach[c, side, 3], 0.0
        if begin < n:
            y0, y1 = reach[c, side, 0], reach[c, side, 1]
        for k in range(begin, end + 1):
            if k > begin:
                z0, z1, z2 = y0, y1, y2
                y0 = -(pull[k, 0, 0] * z0 + pull[k, 0, 1] * z1 + pull[k, 0, 2] * z2)
                y1 = -(pull[k, 1, 0] * z0 + pull[k, 1, 1] * z1 + pull[k, 1, 2] * z2)
                y2 = -(pull[k, 2, 0] * z0 + pull[k, 2, 1] * z1 + pull[k, 2, 2] * z2)
                if k == n:
                    y0 += reach[c, side, 2]
                    y1 += reach[c, side, 3]
            y[k, 0], y[k, 1], y[k, 2] = y0, y1, y2
            t[k, 0] = inv[k, 0, 0] * y0 + inv[k, 0, 1] * y1 + inv[k, 0, 2] * y2
            t[k, 1] = inv[k, 1, 0] * y0 + inv[k, 1, 1] * y1 + inv[k, 1, 2] * y2
            t[k, 2] = inv[k, 2, 0] * y0 + inv[k, 2, 1] * y1 + inv[k, 2, 2] * y2
        count = work.on_plate[plate, 0]
        for a in range(1, count + 1):
            other = work.on_plate[plate, a]
            e = other // 2
            v = overlap(y, whole[e, other % 2], max(begin, work.begin[e]), end)
            work.gram[c, e] += v
            work.gram[e, c] += v
        v = overlap(y, t, begin, end)
        work.gram[c, c] += v
        work.own[c] = min(work.own[c], v)
        work.on_plate[plate, 0] = count + 1
        work.on_plate[plate, count + 1] = 2 * c + side


@njit(cache=True, nogil=True, error_model="numpy")
def factor_give(count: int, contacts: Contacts, soft: float, work: Work) -> bool:
    """Cholesky factor, in its envelope, of the matrix of the pressing points."""
    s, first, pressing = work.s, work.first, work.pressing
    for a in range(count):
        c = pressing[a]
        begin = a
        for b in range(a):
            v = work.gram[c, pressing[b]]
            s[a, b] = v
            if v != 0.0 and begin == a:
                begin = b
        first[a] = begin
        s[a, a] = work.gram[c, c] + soft * work.own[c] + work.dent[c]
        for b in range(begin, a):
            v = s[a, b]
            for k in range(max(begin, first[b]), b):
                v -= s[a, k] * s[b, k]
            s[a, b] = v * s[b, b]
        v = s[a, a]
        for k in range(begin, a):
            v -= s[a, k] * s[a, k]
        if not v > 0:
            return False
        s[a, a] = 1 / np.sqrt(v)
    return True


@njit(cache=True, nogil=True, error_model="numpy")
def solve_forces(count: int, with_gaps: bool, contacts: Contacts, last: Ints, work: Work) -> float:
    """Forces ``work.x`` that close the pressing points under the half-solved ``work.z``; the greatest."""
    s, first, x, ends = work.s, work.first, work.x, contacts.ends
    for a in range(count):
        c = work.pressing[a]
        v = -work.gap[c] if with_gaps else 0.0
        for side in range(2):
            plate = ends[c, side]
            if plate >= 0:
                v -= overlap(work.whole[c, side], work.z[plate], work.begin[c], last[plate])
        for k in range(first[a], a):
            v -= s[a, k] * x[k]
        x[a] = v * s[a, a]
    biggest = 0.0
    for a in range(count - 1, -1, -1):
        x[a] *= s[a, a]
        for k in range(first[a], a):
            x[k] -= s[a, k] * x[a]
        biggest = max(biggest, abs(x[a]))
    return biggest


@njit(cache=True, nogil=True, error_model="numpy")
def push_through(count: int, contacts: Contacts, plates: Ints, last: Ints, work: Work, d: Floats) -> None:
    """Displacements d from the half-solved ``work.z`` and the forces ``work.x`` of the pressing points."""
    for plate in plates:
        for n in range(1, last[plate] + 1):
            for i in range(3):
                d[plate, n, i] = work.z[plate, n, i]
    for a in range(count):
        c = work.pressing[a]
        for side in range(2):
            plate = contacts.ends[c, side]
            if plate >= 0:
                y, push = work.half[c, side], work.x[a]
                for n in range(work.begin[c], last[plate] + 1):
                    for i in range(3):
                        d[plate, n, i] += push * y[n, i]
    for plate in plates:
        backward(last[plate], work.pull[plate], work.inverse[plate], d[plate])


@njit(cache=True, nogil=True, error_model="numpy")
def wrong_points(
    biggest: float, tight: float, active: Flags, force: Floats, contacts: Contacts, work: Work
) -> int:
    """List in ``work.wrong`` the points that pull or would overlap, in ``work.excess`` by how far.

    Returns their number.
    """
    ends, d = contacts.ends, work.d
    bad = 0
    for c in range(ends.shape[0]):
        if active[c]:
            wrong, excess = force[c] < -NO_PULL * max(tight, 1e-8) * biggest, -force[c] * work.gram[c, c]
        else:
            n, v = ends[c, 2], work.gap[c]
            for side in range(2):
                plate = ends[c, side]
                if plate >= 0:
                    v += d[plate, n, 0] * work.reach[c, side, 2] + d[plate, n, 1] * work.reach[c, side, 3]
                    if work.begin[c] < n:
                        v += (
                            d[plate, n - 1, 0] * work.reach[c, side, 0]
                            + d[plate, n - 1, 1] * work.reach[c, side, 1]
                        )
            wrong, excess = v < -NO_PENETRATION * max(tight, 1e-8), -v
        if wrong:
            work.wrong[bad], work.excess[bad] = c, excess
            bad += 1
    return bad


@njit(cache=True, nogil=True, error_model="numpy")
def press(
    active: Flags, force: Floats, contacts: Contacts, plates: Ints, last: Ints, soft: float,
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
    learned = np.zeros(total, np.bool_)
    count, best, patience = 0, total + 1, PATIENCE
    work.gram[:] = 0.0
    work.on_plate[:, 0] = 0
    for _ in range(60 + 4 * total if thorough else FEW):
        count = 0
        for c in range(total):
            if active[c]:
                work.pressing[count] = c
                count += 1
                if not learned[c]:
                    learn(c, contacts, last, work)
                    learned[c] = True
        if not factor_give(count, contacts, soft, work):
            return FAILED, False
        biggest = solve_forces(count, True, contacts, last, work)
        push_through(count, contacts, plates, last, work, work.d)
        force[:] = 0.0
        for a in range(count):
            force[work.pressing[a]] = work.x[a]
        bad = wrong_points(biggest, tight, active, force, contacts, work)
        if bad == 0:
            return count, True
        patience = patience - 1 if bad >= best else PATIENCE
        best = min(best, bad)
        begin, end = 0, bad
        if patience < -WORST_FIRST:
            begin = bad - 1
        elif patience < 0:
            begin = int(np.argmax(work.excess[:bad]))
            end = begin + 1
        for a in range(begin, end):
            active[work.wrong[a]] = not active[work.wrong[a]]
    return count, False
