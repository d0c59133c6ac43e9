"""Lift of a stack under pressure: what the valve asks of the plates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ConvergenceError, GeometryError
from damping_model.packs import SAME, PackedStack
from damping_model.contact import Surroundings
from damping_model.path import State, follow

Floats = NDArray[np.float64]

ELEMENTS = 12.0
"""Elements from clamp to rim that the grid has at least; rims add theirs."""

STEP_END: Final = 1e-6
"""Newton ends when its last step is this share of the lift: the error left is about its square. [-]"""

CONTACT_SOFTNESS = 1e-8
"""How far a contact point gives, as a share of what the plates give there. [-]"""


@dataclass(frozen=True, slots=True)
class Seat:
    """What the stack lies on and is held by.

    Parameters
    ----------
    clamp_radius : nothing moves within it. [m]
    seat_radius : radius of the lip, where the lift is read. [m]
    seat_height : how far the lip stands proud of the hub; negative below it. [m]
    has_seat : whether there is a lip that the face shim closes on.
    backing_radius : radius of a washer behind the stack; 0 for none. [m]
    backing_clearance : distance between the stack and that washer at rest. [m]
    """

    clamp_radius: float
    seat_radius: float
    seat_height: float = 0.0
    has_seat: bool = True
    backing_radius: float = 0.0
    backing_clearance: float = 0.0


@dataclass(frozen=True, slots=True)
class FacePressure:
    """Pressure on the face as shares of the pressure drop: linear between the radii, nought outside.

    Parameters
    ----------
    radii : rising. [m]
    shares : at each radius. [-]
    """

    radii: tuple[float, ...]
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class LiftCurve:
    """A stack's answer to a set of pressures.

    Parameters
    ----------
    pressures : as asked. [Pa]
    seat_lift : opening between lip and face shim, not negative; without a seat the rise of the face shim's lower
        face at the seat's radius. [m]
    seat_compliance : slope of ``seat_lift`` against pressure. [m/Pa]
    edge_lift : rise of the face shim's lower face at its rim. [m]
    steps : Newton steps taken at each pressure.
    radii : nodes of the grid. [m]
    shapes : lift, rotation, radial displacement (pressures, packs, nodes, 3). [m, rad, m]
    shape_slopes : change of ``shapes`` with pressure.
    last : last node of each pack; 0 for a pack that is height only.
    ends : contact points: lower pack, upper pack (-1: seat or washer), node, pack that gives the rotation.
    gaps : gap at rest and thickness factor of each contact point. [m, m]
    forces : force of each contact point per radian (pressures, points). [N/rad]
    touching : which contact points press.
    """

    pressures: Floats
    seat_lift: Floats
    seat_compliance: Floats
    edge_lift: Floats
    steps: NDArray[np.int64]
    radii: Floats
    shapes: Floats
    shape_slopes: Floats
    last: NDArray[np.int64]
    ends: NDArray[np.int64]
    gaps: Floats
    forces: Floats
    touching: NDArray[np.bool_]


_NOTHING = State(
    np.zeros((0, 0, 0, 3)), np.zeros((0, 0, 0, 3)), np.zeros((0, 0)), np.zeros((0, 0), np.bool_)
)


def lift_curve(
    packed: PackedStack,
    *,
    seat: Seat,
    load: FacePressure,
    pressures: NDArray[np.float64],
    start: LiftCurve | None = None,
    elements: float = ELEMENTS,
    softness: float = CONTACT_SOFTNESS,
    tolerance: float = STEP_END,
) -> LiftCurve:
    """Lift of a stack at each of the pressures.

    Parameters
    ----------
    packed : the stack as plates.
    seat : what it lies on and is held by.
    load : where the pressure acts.
    pressures : in any order, not negative. [Pa]
    start : answer of a similar stack at the same pressures, to start from.
    elements : least number of elements from the clamp to the widest rim.
    softness : compliance of a contact point as a share of the plates'. [-]
    tolerance : last Newton step as a share of the lift. [-]

    Returns
    -------
    LiftCurve

    Raises
    ------
    GeometryError
        When seat, load and stack do not fit one another.
    ConvergenceError
        When a pressure could not be reached, with the figures.
    """
    pressures = np.ascontiguousarray(pressures, dtype=float)
    rising = bool((pressures[1:] >= pressures[:-1]).all())
    order = None if rising else np.argsort(pressures, kind="stable")
    asked = pressures if order is None else pressures[order]
    packs = np.array([(p.outer_radius, p.bending, p.stretching, p.shear, p.height) for p in packed.packs])
    rings = np.array(
        [(r.centring, r.inner_radius, r.outer_radius, r.height) for r in packed.rings], dtype=float
    ).reshape(-1, 4)
    _check(packs, packed, seat, load, asked)
    around = Surroundings(
        rings,
        float(seat.has_seat),
        seat.seat_radius,
        seat.seat_height,
        seat.backing_radius,
        seat.backing_clearance,
        0.0 if packed.thin else 1.0,
        packed.give,
    )
    offset = 0.0 if packed.thin else 0.5 * (packed.packs[0].height - packed.face_thickness)
    near = _NOTHING
    if start is not None and start.pressures.size == asked.size:
        near = State(start.shapes, start.shape_slopes, start.forces, start.touching)
        if order is not None:
            near = State(near.q[order], near.dq[order], near.force[order], near.active[order])
    found = follow(
        seat.clamp_radius,
        packed.poisson_ratio,
        packs,
        offset,
        np.array(load.radii, dtype=float),
        np.array(load.shares, dtype=float),
        around,
        asked,
        elements,
        softness,
        tolerance,
        near,
    )
    r, last, (ends, gaps), (q, dq, force, active), steps = found
    if not (steps > 0).all():
        k = int((steps <= 0).argmax())
        raise ConvergenceError(
            f"no equilibrium found at {asked[k]:.6g} Pa ({k} of {asked.size} pressures reached) for a stack "
            f"of {len(packed.packs)} packs. Check its dimensions, or ask for a lower pressure."
        )
    if order is not None:
        back = np.argsort(order, kind="stable")
        q, dq, force, active, steps = q[back], dq[back], force[back], active[back], steps[back]
    face = int((last > 0).argmax())
    at = int(np.abs(r - seat.seat_radius).argmin())
    height = float(packs[face, 4])
    thick = 0.0 if packed.thin else 1.0
    curve = 0.25 * height if seat.has_seat else 0.25 * (height - 2 * packed.face_thickness)
    w, phi = q[:, face, at, 0], q[:, face, at, 1]
    lift = w - thick * curve * phi * phi
    slope = dq[:, face, at, 0] - 2 * thick * curve * phi * dq[:, face, at, 1]
    if seat.has_seat:
        lift = np.maximum(lift - seat.seat_height, 0.0)
    rim = last[face]
    edge = q[:, face, rim, 0] - thick * 0.25 * (height - 2 * packed.face_thickness) * q[:, face, rim, 1] ** 2
    return LiftCurve(pressures, lift, slope, edge, steps, r, q, dq, last, ends, gaps, force, active)


def _check(packs: Floats, packed: PackedStack, seat: Seat, load: FacePressure, pressures: Floats) -> None:
    if not (
        packs.size and seat.clamp_radius > 0 and packs[0, 0] > seat.clamp_radius + SAME and packs[0, 1] > 0
    ):
        raise GeometryError("got no face pack wider than the clamp and of some stiffness, expected one.")
    if not (np.isfinite(packs[:, [0, 1, 2, 4]]).all() and (packs >= 0).all()):
        raise GeometryError(
            "got a pack with a value below 0 or not a number, expected radii, stiffness and height."
        )
    if not seat.clamp_radius + SAME < seat.seat_radius <= packs[0, 0] + SAME:
        raise GeometryError(
            f"got a seat of {seat.seat_radius * 2e3:g} mm diameter, expected it between the clamp of "
            f"{seat.clamp_radius * 2e3:g} mm and the face shim's rim of {packs[0, 0] * 2e3:g} mm."
        )
    if pressures.size == 0 or not (np.isfinite(pressures).all() and pressures[0] >= 0):
        raise GeometryError(
            "got no pressures, or one that is negative or not a number, expected 0 Pa or more."
        )
    radii = load.radii
    if (
        len(radii) != len(load.shares)
        or len(radii) < 2
        or any(b < a for a, b in zip(radii, radii[1:], strict=False))
    ):
        raise GeometryError(
            f"got the pressure's radii {radii}, expected at least two, rising, with a share each."
        )
