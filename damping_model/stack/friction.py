"""What friction between shims may add: a width on the lift curve, from contact pressures and sliding."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import GeometryError
from damping_model.plates.contact import GROUND
from damping_model.stack.lift import FacePressure, LiftCurve, Seat, lift_curve
from damping_model.stack.packs import Pack, PackedStack, pack_stack
from damping_model.stack.stack import Shim, Stack
from damping_model.stack.steel import SpringSteel

Floats = NDArray[np.float64]

JUST_OPEN: Final = 1e5
"""Pressure at which the load of an interface is looked at. [Pa]"""


@dataclass(frozen=True, slots=True)
class StackFriction:
    """Friction between shims while a stack moves one way.

    Parameters
    ----------
    coefficient : of friction, steel on oiled steel. [-]
    opening : whether the stack opens, so that friction holds it down; closing, it holds it up.
    """

    coefficient: float
    opening: bool


@dataclass(frozen=True, slots=True)
class FrictionWidth:
    """Lift between which friction may hold the stack.

    Parameters
    ----------
    rising : lift at the seat while pressure rises, not above the frictionless. [m]
    falling : lift while pressure falls, not below it. [m]
    """

    rising: Floats
    falling: Floats


def friction_width(
    packed: PackedStack, curve: LiftCurve, *, seat: Seat, load: FacePressure, coefficient: float = 0.0
) -> FrictionWidth:
    r"""Estimate of the width that friction between shims gives the lift curve.

    Parameters
    ----------
    packed, seat, load : what ``curve`` was made of.
    curve : answer of :func:`damping_model.stack.lift.lift_curve`.
    coefficient : of friction, steel on oiled steel. 0.08 to 0.15 is common practice, no source; 0 leaves it
        out. [-]

    Raises
    ------
    GeometryError
        When the coefficient is negative or no number.

    Notes
    -----
    Faces in contact slide on one another by :math:`(h_A + h_B)\phi`, half heights times rotation. While the
    stack moves, pressure does the work of sliding besides that of bending. With forces F of the contact
    points and dots for the change with pressure,

    .. math:: \Delta p \int \dot w\,s\,r\,dr = \mu \sum F\,(h_A + h_B)\,|\dot\phi| ,

    equation (19), s being the pressure's shares; then :math:`\Delta` lift is :math:`\Delta p` times the
    compliance. Within a pack of n equal shims the pressure between members falls evenly from that below the
    pack to that above it. It is an estimate of first order, of the form of parallel disc springs [1]_: linear
    in the coefficient and in the number of faces. A stack whose shims all stick bends as one solid plate of
    the whole height at each radius, and no friction can hold the lift below that.

    References
    ----------
    .. [1] EN 16984, *Disc springs: calculation*, parallel stacking (before: DIN 2092).
    """
    if not (math.isfinite(coefficient) and coefficient >= 0):
        raise GeometryError(f"got a friction coefficient of {coefficient:g}, expected 0 or more.")
    if coefficient == 0:
        return FrictionWidth(curve.seat_lift.copy(), curve.seat_lift.copy())
    slid, moved = _sliding(packed, curve, load), _swept(curve, load)
    share = np.divide(coefficient * slid, moved, out=np.zeros_like(slid), where=moved > 0)
    stuck = lift_curve(_solid(packed), seat=seat, load=load, pressures=curve.pressures).seat_lift
    most = np.maximum(curve.seat_lift - stuck, 0.0)
    width = np.minimum(share * np.abs(curve.seat_compliance), most)
    return FrictionWidth(curve.seat_lift - width, curve.seat_lift + width)


def extra_load(
    *, face: Shim, seat: Seat, load: FacePressure, steel: SpringSteel, coefficient: float
) -> float:
    """Load that friction adds at the interface of two shims alike, as a share of the frictionless load. [-]

    Parallel disc springs are catalogued by it: 0.02 to 0.03 an interface when oiled [1]_.

    Parameters
    ----------
    face : the shim that lies on the piston; two of it are looked at, where they have just opened.
    seat, load : its place.
    steel : of both.
    coefficient : of friction. [-]

    References
    ----------
    .. [1] EN 16984, *Disc springs: calculation* (before: DIN 2092); 3 % in a supplier's manual,
       springmasters.com.
    """
    pair = pack_stack(Stack((face, face)), clamp_radius=seat.clamp_radius, steel=steel)
    curve = lift_curve(pair, seat=seat, load=load, pressures=np.array([JUST_OPEN]))
    width = friction_width(pair, curve, seat=seat, load=load, coefficient=coefficient)
    held = curve.seat_lift - width.rising
    return float(held[0] / (curve.seat_compliance[0] * JUST_OPEN))


def _sliding(packed: PackedStack, curve: LiftCurve, load: FacePressure) -> Floats:
    """Work of sliding per pressure at a friction coefficient of 1, per radian. [N m/(Pa rad)]"""
    turn = np.abs(curve.states.dq[..., 1])
    force, ends = np.maximum(curve.states.force, 0.0), curve.contacts.ends
    work, packs = np.zeros(curve.pressures.size), packed.packs
    for point, (lower, upper, node, _) in enumerate(ends):
        for pack in (lower, upper):
            if pack == GROUND:
                continue
            other = upper if pack == lower else lower
            plate = packs[pack]
            faces = 0.0 if other == GROUND else 0.5 * plate.height  # the seat's own sliding is small
            inside = 0.5 * (_members(plate) - 1) / _members(plate) * plate.height
            work += force[:, point] * (faces + inside) * turn[:, pack, node]
    face = int((curve.last > 0).argmax())
    plate = packs[face]
    inside = 0.5 * (_members(plate) - 1) / _members(plate) * plate.height
    share = np.interp(curve.radii, load.radii, load.shares, left=0.0, right=0.0)
    pressed: Floats = inside * turn[:, face] @ (share * curve.radii * np.gradient(curve.radii))
    return work + pressed * curve.pressures


def _swept(curve: LiftCurve, load: FacePressure) -> Floats:
    """Volume swept per pressure by the loaded face, per radian. [m^3/(Pa rad)]"""
    face = int((curve.last > 0).argmax())
    fine = np.linspace(curve.radii[0], curve.radii[curve.last[face]], 400)
    share = np.interp(fine, load.radii, load.shares, left=0.0, right=0.0)
    swept = [
        np.trapezoid(np.interp(fine, curve.radii, change[face, :, 0]) * share * fine, fine)
        for change in curve.states.dq
    ]
    return np.array(swept)


def _members(pack: Pack) -> float:
    """Number of equal shims that a pack amounts to: of thickness t, D/C is t^2/12."""
    if pack.bending <= 0 or pack.stretching <= 0:
        return 1.0
    return max(1.0, pack.height / math.sqrt(12 * pack.bending / pack.stretching))


def _solid(packed: PackedStack) -> PackedStack:
    """Plates which together bend as solid as their whole height at every radius."""
    packs = list(packed.packs)
    order = sorted(range(len(packs)), key=lambda k: -packs[k].outer_radius)
    below = 0.0
    for k in order:
        pack = packs[k]
        if pack.bending <= 0 or pack.height <= 0:
            continue
        modulus = pack.stretching / pack.height  # E/(1 - nu^2)
        above = below + pack.height
        packs[k] = pack._replace(
            bending=max(pack.bending, modulus * (above**3 - below**3) / 12), shear=math.inf
        )
        below = above
    return packed.with_packs(packs)
