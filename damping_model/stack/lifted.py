"""More of a lifted stack than its lift: its shape, where faces press on one another, when each gap closes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.plates.contact import GROUND
from damping_model.plates.openings import openings
from damping_model.stack.lift import FacePressure, LiftCurve, Seat, lift_curve
from damping_model.stack.packs import PackedStack

Floats = NDArray[np.float64]

GAP_PRESSURES: Final = 24
"""Pressures at which closing gaps are first looked for."""


@dataclass(frozen=True, slots=True)
class ContactLine:
    """Circle along which two faces press on one another.

    Parameters
    ----------
    lower, upper : places of the packs; -1 is the seat as lower, the backing washer as upper.
    radius : of the circle. [m]
    line_force : along the circle. [N/m]
    """

    lower: int
    upper: int
    radius: float
    line_force: float


@dataclass(frozen=True, slots=True)
class GapClosure:
    """A gap between two packs that closes under pressure.

    Parameters
    ----------
    lower, upper : places of the packs; the upper is -1 for the backing washer.
    gap : at rest. [m]
    pressure : at which the faces meet; None when they do not up to the highest pressure asked. [Pa]
    stiffness_before, stiffness_after : pressure per lift at the seat just before and just after; None
        without a closure. [Pa/m]
    """

    lower: int
    upper: int
    gap: float
    pressure: float | None
    stiffness_before: float | None
    stiffness_after: float | None


def lifted_shape(curve: LiftCurve, *, place: int, pack: int) -> tuple[Floats, Floats]:
    """Radii and lift of the middle of a pack at one of the curve's pressures.

    Parameters
    ----------
    curve : answer of :func:`damping_model.stack.lift.lift_curve`.
    place : of the pressure in the curve.
    pack : place of the pack.

    Returns
    -------
    Radii from the clamp to the pack's rim [m] and the lift there [m]; both empty for a pack that is height
    only.
    """
    end = int(curve.last[pack]) + 1 if curve.last[pack] else 0
    return curve.radii[:end], curve.states.q[place, pack, :end, 0]


def contact_lines(curve: LiftCurve, *, place: int) -> tuple[ContactLine, ...]:
    """Every circle along which faces press on one another at one of the curve's pressures.

    Parameters
    ----------
    curve : answer of :func:`damping_model.stack.lift.lift_curve`.
    place : of the pressure in the curve.
    """
    ends, force = curve.contacts.ends, curve.states.force[place]
    return tuple(
        ContactLine(int(lower), int(upper), float(curve.radii[node]), float(push / curve.radii[node]))
        for (lower, upper, node, _), push in zip(ends, force, strict=True)
        if push > 0
    )


def gap_closures(
    packed: PackedStack, *, seat: Seat, load: FacePressure, highest: float
) -> tuple[GapClosure, ...]:
    """Pressures at which the gaps of a stack close, crossovers' first among them.

    Parameters
    ----------
    packed, seat, load : as for :func:`damping_model.stack.lift.lift_curve`.
    highest : pressure up to which to look. [Pa]

    Returns
    -------
    One entry for each gap that is open at rest, by lower pack. The pressure is interpolated between two
    equilibria a hundredth apart.
    """
    ladder = np.geomspace(highest * 1e-3, highest, GAP_PRESSURES)
    curve = lift_curve(packed, seat=seat, load=load, pressures=ladder)
    return tuple(_closure(packed, seat, load, curve, lower, upper) for lower, upper in _open_pairs(curve))


def _open_pairs(curve: LiftCurve) -> list[tuple[int, int]]:
    ends, rest = curve.contacts.ends, curve.contacts.gaps[:, 0]
    pairs = sorted({(int(a), int(b)) for a, b in ends[:, :2] if a != GROUND})
    return [pair for pair in pairs if rest[_of_pair(curve, pair)].min() > 0]


def _of_pair(curve: LiftCurve, pair: tuple[int, int]) -> NDArray[np.bool_]:
    ends = curve.contacts.ends
    chosen: NDArray[np.bool_] = (ends[:, 0] == pair[0]) & (ends[:, 1] == pair[1])
    return chosen


def _closure(
    packed: PackedStack, seat: Seat, load: FacePressure, curve: LiftCurve, lower: int, upper: int
) -> GapClosure:
    pair = (lower, upper)
    gap = float(curve.contacts.gaps[_of_pair(curve, pair), 0].min())
    for _ in range(2):
        touches = curve.states.active[:, _of_pair(curve, pair)].any(axis=1)
        if not touches.any():
            return GapClosure(lower, upper, gap, None, None, None)
        after = int(touches.argmax())
        high = curve.pressures[after]
        low = curve.pressures[after - 1] if after else 0.0
        curve = lift_curve(packed, seat=seat, load=load, pressures=np.linspace(low, high, 9))
    touches = curve.states.active[:, _of_pair(curve, pair)].any(axis=1)
    after = max(1, int(touches.argmax()))
    before = after - 1
    opening = np.empty(curve.contacts.ends.shape[0])
    openings(curve.states.q[before], curve.contacts, opening)
    left = float(opening[_of_pair(curve, pair)].min())
    shrink = _shrink(curve, pair, before)
    share = min(1.0, left / shrink) if shrink > 0 else 1.0
    pressure = curve.pressures[before] + share * (curve.pressures[after] - curve.pressures[before])
    return GapClosure(
        lower, upper, gap, float(pressure),
        float(1 / curve.seat_compliance[before]), float(1 / curve.seat_compliance[after]),
    )  # fmt: skip


def _shrink(curve: LiftCurve, pair: tuple[int, int], place: int) -> float:
    """How much a gap would shrink up to the next pressure if it went on as it does at this one. [m]"""
    chosen = _of_pair(curve, pair)
    step = curve.pressures[place + 1] - curve.pressures[place]
    now, then = np.empty(chosen.size), np.empty(chosen.size)
    openings(curve.states.q[place], curve.contacts, now)
    openings(curve.states.q[place] + step * curve.states.dq[place], curve.contacts, then)
    nearest = int(np.where(chosen, then, np.inf).argmin())
    return float(now[nearest] - then[nearest])
