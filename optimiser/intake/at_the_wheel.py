"""What one band at the shaft means at the wheel, at sag, in the middle and at the end of the travel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from optimiser.intake.bands import SIGN, Band
from optimiser.intake.goal_builder import Forces
from optimiser.intake.machine import Corner


@dataclass(frozen=True, slots=True)
class WheelRow:
    """One place of the travel.

    Parameters
    ----------
    place : its name.
    wheel_travel, shaft_travel : where it is. [m]
    leverage_ratio : wheel over shaft. [-]
    low, high : wheel velocities that the band stands for. [m/s]
    force_low, force_high : damping force at the wheel at its ends; None without a damper. [N]
    damping : the damper's secant coefficient in the middle of the band, at the wheel; None without. [N s/m]
    """

    place: str
    wheel_travel: float
    shaft_travel: float
    leverage_ratio: float
    low: float
    high: float
    force_low: float | None
    force_high: float | None
    damping: float | None


def band_at_the_wheel(
    *, band: Band, corner: Corner, sag: float, forces: Forces | None = None
) -> tuple[WheelRow, ...]:
    """One shaft band seen from the wheel, at three places of the travel.

    Parameters
    ----------
    band : of shaft velocity.
    corner : whose linkage.
    sag : where the rider sits, as wheel travel. [m]
    forces : damping forces [N] of the damper at signed shaft velocities [m/s].
    """
    places = {"sag": sag, "middle": corner.travel / 2, "end": corner.travel}
    return tuple(_row(name, travel, band, corner, forces) for name, travel in places.items())


def _row(name: str, travel: float, band: Band, corner: Corner, forces: Forces | None) -> WheelRow:
    curve = corner.leverage
    force_low = force_high = damping = None
    if forces is not None:
        shaft = np.array([band.low, (band.low * band.high) ** 0.5, band.high])
        ends = [float(force) for force in forces(SIGN[band.stroke] * shaft)]
        force_low, _, force_high = (
            curve.wheel_force(shaft_force=force, wheel_travel=travel) for force in ends
        )
        damping = curve.wheel_damping(shaft_damping=ends[1] / float(shaft[1]), wheel_travel=travel)
    return WheelRow(
        place=name,
        wheel_travel=travel,
        shaft_travel=curve.shaft_travel(wheel_travel=travel),
        leverage_ratio=curve.leverage_ratio(wheel_travel=travel),
        low=curve.wheel_velocity(shaft_velocity=band.low, wheel_travel=travel),
        high=curve.wheel_velocity(shaft_velocity=band.high, wheel_travel=travel),
        force_low=force_low,
        force_high=force_high,
        damping=damping,
    )
