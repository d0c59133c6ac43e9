"""Where plates may touch: each other, the seat below them and the washer behind them.

Faces that touch are parallel curves. With half heights h, a lower plate A that reaches further than the
plate B on it, and rotations phi, their mid-surfaces keep

    w_B - w_A + gap >= (h_A + h_B)/2 phi_A^2 - h_B/2 (phi_A - phi_B)^2 ,

the last term at B's rim alone, whose corner bears on A; elsewhere faces in contact have one slope. The same
the other way round where B reaches further. Contact also dents the faces: each gives a little to the
pressure of the other. At a rim they do so over a wedge narrower than an element, so there the force acts
between the nodes. No friction, no adhesion.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.element import lift_shapes
from damping_model.plates.grid import nearest
from damping_model.plates.jit import ENTRY, PART, WRITTEN_IN

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

GROUND: Final = -1
"""Stands for the seat below the face plate and for the washer behind the last."""


FLIPS: Final = 2
"""Times that the length at a rim may leave or reach its most before it goes half way."""


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
    edge : at a rim the radius [m], the length inwards to the next node [m], the dent by a pressure [m/Pa] and
        the most that the faces press over [m]; elsewhere zero.
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
        put_row(ends[0], GROUND, face, at, face)
        put_row(gaps[0], -around.seat_height, 0.25 * height[face] * around.thick, 0.0, 0.0)
        made = 1
    for a in range(count):
        if last[a] == 0:
            continue
        reach, rest = 0, 0.0
        for b in range(a + 1, count):
            end = min(last[a], last[b])
            for n in range(reach + 1, end + 1):
                inner, outer = r[n] - r[n - 1], r[n + 1] - r[n] if n < end else 0.0
                width = 0.5 * inner + (0.25 if n + 1 == end else 0.5) * outer
                if n == end and around.give > 0:
                    most = 2 * spread(packs[a], packs[b], around.give)
                    put_row(edge[made], r[n], inner, around.give, min(inner, most))
                put_row(ends[made], a, b, n, a if last[a] > last[b] else b)
                put_row(
                    gaps[made],
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
                put_row(ends[made], a, GROUND, n, a)
                put_row(
                    gaps[made], rest + around.backing_clearance, 0.25 * height[a] * around.thick, 0.0, 0.0
                )
                made += 1
    return Contacts(ends[:made].copy(), gaps[:made].copy(), edge[:made].copy())


@PART
def put_row(row: Ints | Floats, one: float, two: float, three: float, four: float) -> None:
    """Fill a row of four."""
    row[0], row[1], row[2], row[3] = one, two, three, four


@PART
def spread(lower: Floats, upper: Floats, give: float) -> float:
    """Force over pressure at the end of two long plates on faces that dent, pressed together there. [m]"""
    bend = np.sqrt((1 / lower[1] + 1 / upper[1]) / give)
    shear = (1 / lower[3] + 1 / upper[3]) / give
    return float(1 / np.sqrt(shear + 2 * bend))


@PART
def ring_height(rings: Floats, lower: int, upper: int, radius: float) -> float:
    """Height of the rings that lie between two packs at a radius. [m]"""
    height = 0.0
    for k in range(rings.shape[0]):
        if lower < rings[k, 0] < upper and rings[k, 1] - 1e-9 <= radius <= rings[k, 2] + 1e-9:
            height += rings[k, 3]
    return height


@WRITTEN_IN
def narrower(c: int, ends: Ints) -> int:
    """Pack of a contact point that does not give the rotation; the ground may be it."""
    return int(ends[c, 0] if ends[c, 3] == ends[c, 1] else ends[c, 1])


@ENTRY
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


@PART
def place_points(
    q: Floats, length: Floats, contacts: Contacts, angle: Floats, reach: Floats, dent: Floats, begin: Ints
) -> None:
    """Put every contact point where its force acts.

    Parameters
    ----------
    q : shapes.
    length : from a rim inwards, over which the faces press; 0 where they do not. [m]
    angle : shear angles of the plates' elements: see :func:`damping_model.plates.element.plate_elements`.
    reach : receives the change of the opening with lift and rotation at the node before and at the node
        itself, for the lower and the upper pack (points, 2, 4).
    dent : receives the dent by a force per radian. [m rad/N]
    begin : receives the first node that the force acts on.
    """
    ends, gaps, edge = contacts.ends, contacts.gaps, contacts.edge
    for c in range(ends.shape[0]):
        n, inwards = ends[c, 2], 0.0
        dent[c], begin[c] = gaps[c, 2], n
        if length[c] > 0:
            begin[c] = max(1, n - 1)
            inwards = length[c] / (3 * edge[c, 1])
            dent[c] = edge[c, 2] / (0.75 * length[c] * edge[c, 0])
        for side in range(2):
            plate = ends[c, side]
            if plate < 0:
                continue
            sign = 2.0 * side - 1.0
            if inwards > 0:
                shapes = lift_shapes(1 - inwards, edge[c, 1])
                for j in range(4):
                    reach[c, side, j] = sign * (shapes[j] + shapes[4] * angle[plate, n - 1, j])
            else:
                reach[c, side, 2], reach[c, side, 3] = sign, 0.0
            reach[c, side, 3] += leverage_of(c, plate, q, ends, gaps)


@PART
def spread_forces(
    q: Floats, force: Floats, contacts: Contacts, angle: Floats, length: Floats, flips: Ints, limit: float
) -> tuple[bool, float]:
    """Find how far inwards from rims the faces press.

    Faces that meet at an angle press over a wedge: with a dent d at the rim, give g and tilt t they press
    over d/t, with a force per length of d^2/(2 g t) a third of the way in. Where a length goes to and fro
    between its most and less, which ``flips`` counts, it meets itself half way.

    Returns
    -------
    Whether no dent moves by more than ``limit`` any more; the greatest change of a length, as a share of it.
    """
    gaps, ends, edge = contacts.gaps, contacts.ends, contacts.edge
    found, change = True, 0.0
    for c in range(ends.shape[0]):
        if edge[c, 0] <= 0:
            continue
        n, old = ends[c, 2], length[c]
        if force[c] > 0:
            new = edge[c, 3]
            tilt = slope_at(q, ends[c, 0], n, angle) - slope_at(q, ends[c, 1], n, angle)
            wedge = 2 * edge[c, 2] * force[c] / edge[c, 0]
            if tilt * new * new > wedge:
                new = np.sqrt(wedge / tilt)
            if old > 0:
                new = min(max(new, 0.3 * old), 3 * old, edge[c, 3])
                flips[c] += (old < edge[c, 3]) != (new < edge[c, 3])
                if flips[c] > FLIPS:
                    new = 0.5 * (old + new)
            length[c] = new
            found = found and abs(new - old) * wedge <= limit * new * new
            change = max(change, abs(new - old) / new)
        elif old > 0:
            if gaps[c, 0] + q[ends[c, 1], n, 0] - q[ends[c, 0], n, 0] < -1e-11 and old > 1e-4 * edge[c, 1]:
                length[c] *= 0.25
                found = False
            else:
                length[c] = 0.0
            change = max(change, 1.0)
    return found, change


@WRITTEN_IN
def slope_at(q: Floats, plate: int, n: int, angle: Floats) -> float:
    """Slope of a pack's middle at node n, just within it."""
    a = angle[plate, n - 1]
    return float(
        q[plate, n, 1]
        + a[0] * q[plate, n - 1, 0]
        + a[1] * q[plate, n - 1, 1]
        + a[2] * q[plate, n, 0]
        + a[3] * q[plate, n, 1]
    )


@PART
def openings_of_points(q: Floats, length: Floats, contacts: Contacts, reach: Floats, out: Floats) -> None:
    """Opening of every contact point where :func:`place_points` has put it. [m]"""
    openings(q, contacts, out)
    ends, gaps = contacts.ends, contacts.gaps
    for c in range(ends.shape[0]):
        if length[c] > 0:
            n = ends[c, 2]
            for side in range(2):
                plate = ends[c, side]
                sign = 2.0 * side - 1.0
                out[c] += (
                    reach[c, side, 0] * q[plate, n - 1, 0]
                    + reach[c, side, 1] * q[plate, n - 1, 1]
                    + (reach[c, side, 2] - sign) * q[plate, n, 0]
                    + (reach[c, side, 3] - leverage_of(c, plate, q, ends, gaps)) * q[plate, n, 1]
                )


@WRITTEN_IN
def leverage_of(c: int, pack: int, q: Floats, ends: Ints, gaps: Floats) -> float:
    """Change of a contact point's opening with the rotation of one of its packs. [m]"""
    n, wide = ends[c, 2], ends[c, 3]
    phi = q[wide, n, 1]
    apart = phi - q[narrower(c, ends), n, 1] if gaps[c, 3] > 0 else 0.0
    if pack == wide:
        return float(-2 * gaps[c, 1] * phi + 2 * gaps[c, 3] * apart)
    return float(-2 * gaps[c, 3] * apart)
