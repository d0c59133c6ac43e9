"""Damping as felt: the damping ratio at sag, and what a change does to it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from damping_model.leverage import LeverageCurve
from optimiser.errors import InputError


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
    force : resisting force at the shaft [N] at a signed shaft velocity [m/s].
    wheel_velocity : at which the curve is read, signed; a damper has another ratio at another velocity. [m/s]
    wheel_travel : place of the travel, usually sag. [m]
    leverage : the linkage.
    wheel_rate : spring rate at the wheel there. [N/m]
    sprung_mass : the corner's. [kg]

    Notes
    -----
    :math:`\zeta = c_w/(2\sqrt{k_w m})` with the secant :math:`c_w = M F(M v_w)/v_w`; the overshoot is
    :math:`\exp(-\pi\zeta/\sqrt{1-\zeta^2})`, nought from :math:`\zeta = 1`. Any vibration text. Tyre and
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
