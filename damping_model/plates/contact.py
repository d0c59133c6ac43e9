"""Where plates may touch: each other, the seat below them and the washer behind them.

Faces in contact press on one another and indent, without friction or adhesion: equations (9) and (10). At a
rim they press over a wedge narrower than an element, (11), so there the force acts between the nodes.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.grid import nearest
from damping_model.plates.jit import PART, UNCOUNTED

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

GROUND: Final = -1
"""Stands for the seat below the face plate and for the washer behind the last."""


class Surroundings(NamedTuple):
    """What the plates are held by, as plain numbers for compiled code.

    Parameters
    ----------
    rings : rows of centring pack, inner radius, outer radius, height.
    has_seat : 0 when there is no lip.
    seat_radius, seat_height : of the lip. [m]
    backing_radius, backing_clearance : of the washer behind; a radius of 0 when there is none. [m]
    thick : 1 with the terms of finite thickness, 0 without.
    indentation : k, how far two faces in contact indent by each other's pressure. [m/Pa]
    """

    rings: Floats
    has_seat: float
    seat_radius: float
    seat_height: float
    backing_radius: float
    backing_clearance: float
    thick: float
    indentation: float


class Contacts(NamedTuple):
    """Every place where two faces may meet, by lower pack, then upper, then node.

    Parameters
    ----------
    ends : lower pack, upper pack, node, and the pack whose rotation counts in (9) (points, 4).
    gaps : gap at rest [m], half the sum of the half heights [m], indentation by a force [m rad/N], half the
        half height of a plate whose rim lies here, else 0 [m] (points, 4).
    edge : at a rim the radius [m], the length inwards to the next node [m], the indentation by a pressure
        [m/Pa] and the longest wedge [m]; elsewhere zero (points, 4).
    """

    ends: Ints
    gaps: Floats
    edge: Floats


@PART
def contact_points(r: Floats, last: Ints, packs: Floats, around: Surroundings) -> Contacts:
    """List the contact points of plates that end at the nodes ``last`` (0: a pack that is height only)."""
    count, height, face = last.size, packs[:, 4].copy(), 0
    ends = np.empty((r.size * (2 * count + 2), 4), np.int64)
    gaps = np.zeros((r.size * (2 * count + 2), 4))
    edge = np.zeros((r.size * (2 * count + 2), 4))
    made = 0
    while last[face] == 0:
        face += 1
    if around.has_seat > 0:
        at = nearest(r, around.seat_radius)
        fill_row(ends[0], GROUND, face, at, face)
        fill_row(gaps[0], -around.seat_height, 0.25 * height[face] * around.thick, 0.0, 0.0)
        made = 1
    for a in range(count):
        if last[a] == 0:
            continue
        reach, between = 0, 0.0
        for b in range(a + 1, count):
            end = min(last[a], last[b])
            for n in range(reach + 1, end + 1):
                inner, outer = r[n] - r[n - 1], r[n + 1] - r[n] if n < end else 0.0
                width = 0.5 * inner + (0.25 if n + 1 == end else 0.5) * outer
                if n == end and around.indentation > 0:
                    longest = 2 * half_longest_wedge(packs[a], packs[b], around.indentation)
                    fill_row(edge[made], r[n], inner, around.indentation, min(inner, longest))
                fill_row(ends[made], a, b, n, a if last[a] > last[b] else b)
                fill_row(
                    gaps[made],
                    between - ring_height(around.rings, a, b, r[n]),
                    0.25 * (height[a] + height[b]) * around.thick,
                    around.indentation / (width * r[n]),
                    0.25 * height[b if last[a] > last[b] else a] * around.thick if n == end else 0.0,
                )
                made += 1
            reach = max(reach, last[b])
            if reach >= last[a]:
                break
            between += height[b]
        for n in range(reach + 1, last[a] + 1):
            if r[n] <= around.backing_radius + 1e-9:
                fill_row(ends[made], a, GROUND, n, a)
                half = 0.25 * height[a] * around.thick
                fill_row(gaps[made], between + around.backing_clearance, half, 0.0, 0.0)
                made += 1
    return Contacts(ends[:made].copy(), gaps[:made].copy(), edge[:made].copy())


@UNCOUNTED
def fill_row(row: Ints | Floats, one: float, two: float, three: float, four: float) -> None:
    """Fill a row of four."""
    row[0], row[1], row[2], row[3] = one, two, three, four


@UNCOUNTED
def half_longest_wedge(lower: Floats, upper: Floats, indentation: float) -> float:
    """Force over pressure at the end of two long plates on faces that indent: half of (12). [m]"""
    bend = np.sqrt((1 / lower[1] + 1 / upper[1]) / indentation)
    shear = (1 / lower[3] + 1 / upper[3]) / indentation
    return float(1 / np.sqrt(shear + 2 * bend))


@UNCOUNTED
def ring_height(rings: Floats, lower: int, upper: int, radius: float) -> float:
    """Height of the rings that lie between two packs at a radius. [m]"""
    height = 0.0
    for k in range(rings.shape[0]):
        if lower < rings[k, 0] < upper and rings[k, 1] - 1e-9 <= radius <= rings[k, 2] + 1e-9:
            height += rings[k, 3]
    return height
