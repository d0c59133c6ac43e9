"""Damping as felt: the damping ratio at sag, and what a change does to it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.errors import InputError
from optimiser.intake.bands import Stroke
from optimiser.intake.machine import AirPressure, Corner, Machine, Rider
from optimiser.model.goal import Goal, Role


@dataclass(frozen=True, slots=True)
class Felt:
    """How the sprung mass moves on spring and damper, at one place of the travel.

    Parameters
    ----------
    damping_ratio : 1 is the border between swinging and creeping. [-]
    natural_frequency : undamped. [Hz]
    overshoot : how much of a push is left at the next swing the other way. [-]
    wheel_damping : secant coefficient at the wheel. [N s/m]
    wheel_rate : spring rate at the wheel. [N/m]
    """

    damping_ratio: float
    natural_frequency: float
    overshoot: float
    wheel_damping: float
    wheel_rate: float


def as_felt(
    *,
    force: Callable[[float], float],
    wheel_velocity: float,
    wheel_travel: float,
    leverage: LeverageCurve,
    wheel_rate: float,
    sprung_mass: float,
) -> Felt:
    r"""Damping ratio of one corner as a mass on a spring.

    Parameters
    ----------
    force : damping force at the shaft [N] at a signed shaft velocity [m/s].
    wheel_velocity : at which the curve is read, signed; a damper has another ratio at another velocity. [m/s]
    wheel_travel : place of the travel, usually sag. [m]
    leverage : the linkage.
    wheel_rate : spring rate at the wheel there. [N/m]
    sprung_mass : the corner's. [kg]

    Notes
    -----
    :math:`\zeta = c_w/(2\sqrt{k_w m})` with the secant :math:`c_w = M F(M v_w)/v_w`; the overshoot is
    :math:`\exp(-\pi\zeta/\sqrt{1-\zeta^2})`, zero from :math:`\zeta = 1`. Any vibration text. Tyre and
    unsprung mass are left out.
    """
    for what, value in (("wheel rate", wheel_rate), ("sprung mass", sprung_mass)):
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"damping as felt: got a {what} of {value}, expected a number above 0.")
    if wheel_velocity == 0:
        raise InputError(
            "damping as felt: got a wheel velocity of 0, expected one at which to read the curve."
        )
    ratio = leverage.motion_ratio(wheel_travel=wheel_travel)
    damping = ratio * force(ratio * wheel_velocity) / abs(wheel_velocity)
    zeta = damping / (2 * math.sqrt(wheel_rate * sprung_mass))
    overshoot = math.exp(-math.pi * zeta / math.sqrt(1 - zeta**2)) if zeta < 1 else 0.0
    frequency = math.sqrt(wheel_rate / sprung_mass) / (2 * math.pi)
    return Felt(zeta, frequency, overshoot, damping, wheel_rate)


@dataclass(frozen=True, slots=True)
class FeltPlace:
    """Where on a machine damping is felt, with all that a damping ratio needs.

    Parameters
    ----------
    corner : the wheel's name.
    leverage : its linkage.
    sag : as wheel travel. [m]
    wheel_rate : spring rate at the wheel there. [N/m]
    sprung_mass : what the spring carries. [kg]
    """

    corner: str
    leverage: LeverageCurve
    sag: float
    wheel_rate: float
    sprung_mass: float


@dataclass(frozen=True, slots=True)
class FeltChange:
    """What a change of stack does to the damping ratio in one target band.

    Parameters
    ----------
    band : the target's name.
    stroke : the stroke.
    wheel_velocity : the middle of the band, seen from the wheel at sag. [m/s]
    before, after : with the damper as it is, and with the candidate.
    """

    band: str
    stroke: Stroke
    wheel_velocity: float
    before: Felt
    after: Felt


def felt_place(machine: Machine, rider: Rider, corner: Corner, *, sag: float) -> FeltPlace | None:
    """The place for a damping ratio; None where spring or mass do not give one.

    Parameters
    ----------
    machine, rider : whose masses.
    corner : with the spring as it is ridden.
    sag : as wheel travel. [m]
    """
    mass, spring, curve = machine.sprung_mass(corner, rider), corner.spring, corner.leverage
    if spring is None or isinstance(spring, AirPressure) or mass <= 0:
        return None
    shaft = curve.shaft_travel(wheel_travel=sag)
    rate = curve.wheel_rate(
        spring_rate=spring.rate(shaft_travel=shaft),
        spring_force=spring.force(shaft_travel=shaft),
        wheel_travel=sag,
    )
    return FeltPlace(corner.name, curve, sag, rate, mass) if rate > 0 else None


def felt_changes(goal: Goal, after: Sequence[float], place: FeltPlace) -> tuple[FeltChange, ...]:
    """Damping ratios before and after in the middle of every target band.

    Parameters
    ----------
    goal : whose targets.
    after : damping force at each velocity of the goal. [N]
    place : where it is felt.
    """
    found = []
    for window, part in goal.parts:
        middle = len(window.velocities) // 2
        force, velocity = after[part][middle], window.velocities[middle]
        if window.role is not Role.TARGET:
            continue
        seen = place.leverage.wheel_velocity(shaft_velocity=velocity, wheel_travel=place.sag)
        before, then = (
            as_felt(
                force=lambda _, one=one: one,  # type: ignore[misc]
                wheel_velocity=seen,
                wheel_travel=place.sag,
                leverage=place.leverage,
                wheel_rate=place.wheel_rate,
                sprung_mass=place.sprung_mass,
            )
            for one in (window.before[middle], force)
        )
        stroke: Stroke = "compression" if velocity > 0 else "rebound"
        found.append(FeltChange(window.name, stroke, abs(seen), before, then))
    return tuple(found)
