"""Plates that lie on one another: where they may touch, and which of those points press.

A contact point belongs to two facing plates, or to a plate and the seat below or the washer behind it. Faces that
touch are parallel curves: with half heights h the mid-surfaces of a lower plate A and an upper plate B keep

    w_B - w_A + gap >= (h_A + h_B)/2 phi^2 ,

phi being the rotation of the wider plate of the two, on whose face the rim of the other comes to lie. (The rim itself
adds -h (phi_A - phi_B)^2/2, a share of a share that is left out.) No friction, no adhesion.

The pressing points of one Newton step are found by block principal pivoting, which ends for every positive definite
matrix; its last resort is Murty's rule of changing one point at a time.

References
----------
.. [1] J. J. Judice and F. M. Pires, "A block principal pivoting algorithm for large-scale strictly monotone linear
   complementarity problems", Computers & Operations Research 21 (1994) 587-596.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from damping_model.plate import backward, forward

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

GROUND = -1
"""Stands for the seat below the face plate and for the washer behind the last."""

NO_PENETRATION = 1e-12
"""Overlap below which a point counts as open. [m]"""


@njit(cache=True, nogil=True)
def contact_points(
    r: Floats, last: Ints, radius: Floats, height: Floats, rings: Floats, seat: Floats, thick: float, give: float,
) -> tuple[Ints, Floats]:  # fmt: skip
    """Every place where two faces may meet.

    Parameters
    ----------
    last : last node of each pack's plate; 0 for a pack that is height only.
    rings : rows of centring pack, inner radius, outer radius, height.
    seat : has seat, radius, height, has washer, radius, clearance.
    thick : 1 with the terms of finite thickness, 0 without.
    give : how far two faces dent by each other's pressure. [m/Pa]

    Returns
    -------
    ends : lower pack, upper pack, node, pack that gives the rotation.
    gaps : gap at rest [m], half the sum of the half heights [m], and dent by a force per radian [m rad/N].
    """
    count = radius.size
    ends = np.empty((r.size * (2 * count + 2), 4), np.int64)
    gaps = np.zeros((r.size * (2 * count + 2), 3))
    made = 0
    face = 0
    while face < count and last[face] == 0:
        face += 1
    if seat[0] > 0 and face < count:
        for n in range(1, last[face] + 1):
            if abs(r[n] - seat[1]) < 1e-9:
                ends[made] = (GROUND, face, n, face)
                gaps[made] = (-seat[2], 0.25 * height[face] * thick, 0.0)
                made += 1
    for a in range(count):
        if last[a] == 0:
            continue
        reach, rest = 0, 0.0
        for b in range(a + 1, count + 1):
            if b == count:
                if seat[3] > 0:
                    for n in range(reach + 1, last[a] + 1):
                        if r[n] <= seat[4] + 1e-9:
                            ends[made] = (a, GROUND, n, a)
                            gaps[made] = (rest + seat[5], 0.25 * height[a] * thick, 0.0)
                            made += 1
                break
            if last[b] > reach:
                end = min(last[a], last[b])
                for n in range(reach + 1, end + 1):
                    gap = rest
                    for k in range(rings.shape[0]):
                        within = rings[k, 1] - 1e-9 <= r[n] <= rings[k, 2] + 1e-9
                        if a < rings[k, 0] < b and within:
                            gap -= rings[k, 3]
                    ends[made] = (a, b, n, a if last[a] > last[b] else b)
                    width = 0.5 * ((r[n + 1] if n < end else r[n]) - r[n - 1])
                    gaps[made] = (gap, 0.25 * (height[a] + height[b]) * thick, give / (width * r[n]))
                    made += 1
                reach = last[b]
                if reach >= last[a]:
                    break
            rest += height[b]
    return ends[:made].copy(), gaps[:made].copy()


@njit(cache=True, nogil=True)
def openings(q: Floats, ends: Ints, gaps: Floats, out: Floats) -> None:
    """Opening of every contact point at q (packs, nodes, 3). [m]"""
    for c in range(ends.shape[0]):
        n = ends[c, 2]
        phi = q[ends[c, 3], n, 1]
        gap = gaps[c, 0] - gaps[c, 1] * phi * phi
        if ends[c, 1] >= 0:
            gap += q[ends[c, 1], n, 0]
        if ends[c, 0] >= 0:
            gap -= q[ends[c, 0], n, 0]
        out[c] = gap


@njit(cache=True, nogil=True)
def column(
    c: int,
    q: Floats,
    ends: Ints,
    gaps: Floats,
    last: Ints,
    pull: Floats,
    inverse: Floats,
    half: Floats,
    whole: Floats,
) -> None:
    """What one newton at contact point c does to its two plates, after forward substitution: half, and whole."""
    n = ends[c, 2]
    turn = -2 * gaps[c, 1] * q[ends[c, 3], n, 1]
    for side in range(2):
        s = ends[c, side]
        if s < 0:
            continue
        y, t = half[c, side], whole[c, side]
        y[: last[s] + 1] = 0.0
        y[n, 0] = 1.0 if side == 1 else -1.0
        if s == ends[c, 3]:
            y[n, 1] = turn
        forward(n, last[s], pull[s], y)
        for k in range(n, last[s] + 1):
            for i in range(3):
                t[k, i] = (
                    inverse[s, k, i, 0] * y[k, 0]
                    + inverse[s, k, i, 1] * y[k, 1]
                    + inverse[s, k, i, 2] * y[k, 2]
                )


@njit(cache=True, nogil=True)
def overlap(ya: Floats, tb: Floats, first: int, end: int) -> float:
    """Sum of products over the nodes first..end."""
    s = 0.0
    for n in range(first, end + 1):
        s += ya[n, 0] * tb[n, 0] + ya[n, 1] * tb[n, 1] + ya[n, 2] * tb[n, 2]
    return s


@njit(cache=True, nogil=True)
def give_matrix(
    pressing: Ints, count: int, ends: Ints, gaps: Floats, last: Ints, half: Floats, whole: Floats, soft: float,
    s: Floats, first: Ints,
) -> bool:  # fmt: skip
    """Cholesky factor, in its envelope, of how far each pressing point gives to a newton at each other."""
    for a in range(count):
        c = pressing[a]
        first[a] = a
        for b in range(a + 1):
            d = pressing[b]
            v = 0.0
            own = np.inf
            touched = False
            for i in range(2):
                plate = ends[c, i]
                if plate < 0:
                    continue
                for j in range(2):
                    if ends[d, j] == plate:
                        touched = True
                        start = max(ends[c, 2], ends[d, 2])
                        part = overlap(half[c, i], whole[d, j], start, last[plate])
                        v += part
                        own = min(own, part)
            if touched and b < first[a]:
                first[a] = b
            s[a, b] = v
            if a == b:
                s[a, a] += soft * own + gaps[c, 2]
    for a in range(count):
        for b in range(first[a], a):
            v = s[a, b]
            for k in range(max(first[a], first[b]), b):
                v -= s[a, k] * s[b, k]
            s[a, b] = v / s[b, b]
        v = s[a, a]
        for k in range(first[a], a):
            v -= s[a, k] * s[a, k]
        if not v > 0:
            return False
        s[a, a] = np.sqrt(v)
    return True


@njit(cache=True, nogil=True)
def solve_envelope(count: int, s: Floats, first: Ints, x: Floats) -> None:
    """Solve in place with the factor of :func:`give_matrix`."""
    for a in range(count):
        v = x[a]
        for k in range(first[a], a):
            v -= s[a, k] * x[k]
        x[a] = v / s[a, a]
    for a in range(count - 1, -1, -1):
        x[a] /= s[a, a]
        for k in range(first[a], a):
            x[k] -= s[a, k] * x[a]


@njit(cache=True, nogil=True)
def push_through(
    z: Floats, pressing: Ints, count: int, force: Floats, ends: Ints, last: Ints, plates: Ints,
    half: Floats, pull: Floats, inverse: Floats, d: Floats,
) -> None:  # fmt: skip
    """Displacements d from half-solved loads z and the forces of the pressing points."""
    for s in plates:
        for n in range(1, last[s] + 1):
            for i in range(3):
                d[s, n, i] = z[s, n, i]
    for a in range(count):
        c = pressing[a]
        for side in range(2):
            s = ends[c, side]
            if s >= 0:
                y = half[c, side]
                for n in range(ends[c, 2], last[s] + 1):
                    for i in range(3):
                        d[s, n, i] += force[a] * y[n, i]
    for s in plates:
        backward(last[s], pull[s], inverse[s], d[s])


@njit(cache=True, nogil=True)
def pivot(
    z: Floats, gap: Floats, active: Flags, force: Floats, q: Floats, ends: Ints, gaps: Floats, last: Ints,
    plates: Ints, pull: Floats, inverse: Floats, soft: float, half: Floats, whole: Floats, s: Floats, first: Ints,
    pressing: Ints, d: Floats,
) -> tuple[int, bool]:  # fmt: skip
    """One linear step with contact: pressing points, their forces and the displacements d.

    ``active`` holds the guess and receives the answer; ``force`` (per point) receives the forces per radian.

    Returns
    -------
    Number of pressing points, and whether a consistent set was found.
    """
    total = ends.shape[0]
    known = np.zeros(total, np.bool_)
    wrong = np.empty(total, np.int64)
    x = np.empty(total)
    best, patience = total + 1, 4
    count = 0
    for _ in range(60 + 4 * total):
        count = 0
        for c in range(total):
            if active[c]:
                pressing[count] = c
                count += 1
                if not known[c]:
                    column(c, q, ends, gaps, last, pull, inverse, half, whole)
                    known[c] = True
        if not give_matrix(pressing, count, ends, gaps, last, half, whole, soft, s, first):
            return count, False
        biggest = 0.0
        for a in range(count):
            c = pressing[a]
            v = -gap[c]
            for side in range(2):
                plate = ends[c, side]
                if plate >= 0:
                    v -= overlap(whole[c, side], z[plate], ends[c, 2], last[plate])
            x[a] = v
        solve_envelope(count, s, first, x)
        for a in range(count):
            biggest = max(biggest, abs(x[a]))
        push_through(z, pressing, count, x, ends, last, plates, half, pull, inverse, d)
        bad = 0
        force[:] = 0.0
        for a in range(count):
            force[pressing[a]] = x[a]
        for c in range(total):
            if active[c]:
                if force[c] < -1e-10 * biggest:
                    wrong[bad] = c
                    bad += 1
            else:
                n = ends[c, 2]
                v = gap[c] - 2 * gaps[c, 1] * q[ends[c, 3], n, 1] * d[ends[c, 3], n, 1]
                if ends[c, 1] >= 0:
                    v += d[ends[c, 1], n, 0]
                if ends[c, 0] >= 0:
                    v -= d[ends[c, 0], n, 0]
                if v < -NO_PENETRATION:
                    wrong[bad] = c
                    bad += 1
        if bad == 0:
            return count, True
        if bad < best:
            best, patience = bad, 4
        elif patience > 0:
            patience -= 1
        else:
            active[wrong[bad - 1]] = not active[wrong[bad - 1]]
            continue
        for a in range(bad):
            active[wrong[a]] = not active[wrong[a]]
    return count, False
