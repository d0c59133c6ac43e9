"""Where plates may touch: each other, the seat below them and the washer behind them.

Faces that touch are parallel curves. With half heights h, a lower plate A that reaches further than the
plate B on it, and rotations phi, their mid-surfaces keep

    w_B - w_A + gap >= (h_A + h_B)/2 phi_A^2 - h_B/2 (phi_A - phi_B)^2 ,

the last term at B's rim alone, whose corner bears on A; elsewhere faces in contact have one slope. The same
the other way round where B reaches further. Contact also dents the faces: each gives a little to the
pressure of the other. No friction, no adhesion.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

GROUND: Final = -1
"""Stands for the seat below the face plate and for the washer behind the last."""


class Surroundings(NamedTuple):
    """What the plates are held by, as plain numbers for compiled code.

    Parameters
    ----------
    rings : rows of centring pack, inner radius, outer radius, height.
    seat_radius, seat_height : the lip; ``has_seat`` is 0 when there is none.
    backing_radius, backing_clearance : the washer behind; a radius of 0 when there is none.
    thick : 1 with the terms of finite thickness, 0 without.
    give : how far two faces dent by each other's pressure. [m/Pa]
    """

    rings: Floats
    has_seat: float
    seat_radius: float
    seat_height: float
    backing_radius: float
    backing_clearance: float
    thick: float
    give: float


class Contacts(NamedTuple):
    """Every place where two faces may meet.

    Parameters
    ----------
    ends : lower pack, upper pack, node, pack that gives the rotation; by lower pack, then upper, then node.
    gaps : gap at rest [m], half the sum of the half heights [m], dent by a force per radian [m rad/N], half
        the half height of a plate whose rim lies here, else 0 [m].
    """

    ends: Ints
    gaps: Floats


@njit(cache=True, nogil=True, error_model="numpy")
def contact_points(r: Floats, last: Ints, height: Floats, around: Surroundings) -> Contacts:
    """List the contact points of plates that end at the nodes ``last`` (0: a pack that is height only)."""
    count = last.size
    ends = np.empty((r.size * (2 * count + 2), 4), np.int64)
    gaps = np.zeros((r.size * (2 * count + 2), 4))
    made = 0
    face = int(np.argmax(last > 0))
    if around.has_seat > 0:
        at = int(np.argmin(np.abs(r - around.seat_radius)))
        ends[0] = (GROUND, face, at, face)
        gaps[0] = (-around.seat_height, 0.25 * height[face] * around.thick, 0.0, 0.0)
        made = 1
    for a in range(count):
        if last[a] == 0:
            continue
        reach, rest = 0, 0.0
        for b in range(a + 1, count):
            end = min(last[a], last[b])
            for n in range(reach + 1, end + 1):
                width = 0.5 * ((r[n + 1] if n < end else r[n]) - r[n - 1])
                ends[made] = (a, b, n, a if last[a] > last[b] else b)
                gaps[made] = (
                    rest - ring_height(around.rings, a, b, r[n]),
                    0.25 * (height[a] + height[b]) * around.thick,
                    around.give / (width * r[n]),
                    0.25 * height[b if last[a] > last[b] else a] * around.thick if n == end else 0.0,
                )
                made += 1
            reach = max(reach, last[b])
            if reach >= last[a]:
                break
            rest += height[b]
        for n in range(reach + 1, last[a] + 1):
            if r[n] <= around.backing_radius + 1e-9:
                ends[made] = (a, GROUND, n, a)
                gaps[made] = (rest + around.backing_clearance, 0.25 * height[a] * around.thick, 0.0, 0.0)
                made += 1
    return Contacts(ends[:made].copy(), gaps[:made].copy())


@njit(cache=True, nogil=True, error_model="numpy")
def ring_height(rings: Floats, lower: int, upper: int, radius: float) -> float:
    """Height of the rings that lie between two packs at a radius. [m]"""
    height = 0.0
    for k in range(rings.shape[0]):
        if lower < rings[k, 0] < upper and rings[k, 1] - 1e-9 <= radius <= rings[k, 2] + 1e-9:
            height += rings[k, 3]
    return height


@njit(cache=True, nogil=True, error_model="numpy")
def narrower(c: int, ends: Ints) -> int:
    """Pack of a contact point that does not give the rotation; the ground may be it."""
    return int(ends[c, 0] if ends[c, 3] == ends[c, 1] else ends[c, 1])


@njit(cache=True, nogil=True, error_model="numpy")
def openings(q: Floats, contacts: Contacts, out: Floats) -> None:
    """Opening of every contact point at the shapes q (packs, nodes, 3). [m]"""
    ends, gaps = contacts.ends, contacts.gaps
    for c in range(ends.shape[0]):
        n = ends[c, 2]
        phi = q[ends[c, 3], n, 1]
        gap = gaps[c, 0] - gaps[c, 1] * phi * phi
        if gaps[c, 3] > 0:
            gap += gaps[c, 3] * (phi - q[narrower(c, ends), n, 1]) ** 2
        if ends[c, 1] >= 0:
            gap += q[ends[c, 1], n, 0]
        if ends[c, 0] >= 0:
            gap -= q[ends[c, 0], n, 0]
        out[c] = gap


@njit(cache=True, nogil=True, error_model="numpy")
def leverage_of(c: int, pack: int, q: Floats, contacts: Contacts) -> float:
    """Change of a contact point's opening with the rotation of one of its packs. [m]"""
    ends, gaps = contacts.ends, contacts.gaps
    n, wide = ends[c, 2], ends[c, 3]
    phi = q[wide, n, 1]
    apart = phi - q[narrower(c, ends), n, 1] if gaps[c, 3] > 0 else 0.0
    if pack == wide:
        return float(-2 * gaps[c, 1] * phi + 2 * gaps[c, 3] * apart)
    return float(-2 * gaps[c, 3] * apart)
