"""Which spring, preload or pressure brings the sag to a wanted place, by the spring's own arithmetic."""

from __future__ import annotations

from dataclasses import dataclass, replace

from damping_model.units import BAR, MILLIMETRE
from damping_model.vehicle.spring import ATMOSPHERE, AirSpring, CoilSpring
from optimiser.intake.machine import AirPressure, Corner


@dataclass(frozen=True, slots=True)
class SpringChange:
    """A spring setting that brings the sag in.

    Parameters
    ----------
    spring : the spring after the change.
    do_this : what to do, in a sentence.
    assumption : what the figure rests on.
    """

    spring: CoilSpring | AirSpring | AirPressure
    do_this: str
    assumption: str


def spring_for_sag(
    *, corner: Corner, measured: float, wanted: float, most_preload: float
) -> SpringChange | None:
    """The change that moves the sag from where it was measured to where it is wanted.

    The load comes from the measurement itself, so that nobody has to be weighed: what the spring pushes at
    the measured sag, carried through the linkage, is what it has to push at the wanted one.

    Parameters
    ----------
    corner : with the spring as it was when the sag was measured.
    measured, wanted : sag as wheel travel. [m]
    most_preload : past this another coil is asked for instead of more preload. [m]

    Returns
    -------
    SpringChange or None
        None when the corner's spring is not known.
    """
    if corner.spring is None:
        return None
    curve = corner.leverage
    gain = curve.motion_ratio(wheel_travel=measured) / curve.motion_ratio(wheel_travel=wanted)
    here, there = curve.shaft_travel(wheel_travel=measured), curve.shaft_travel(wheel_travel=wanted)
    if isinstance(corner.spring, CoilSpring):
        return _coil(corner.spring, here, there, gain, most_preload)
    if isinstance(corner.spring, AirSpring):
        return _air(corner.spring, here, there, gain)
    return _pressure_alone(corner.spring, here, there, gain)


def _coil(spring: CoilSpring, here: float, there: float, gain: float, most_preload: float) -> SpringChange:
    force = gain * spring.force(shaft_travel=here)
    preload = force / spring.stiffness - there
    if 0 <= preload <= most_preload:
        return SpringChange(
            replace(spring, preload=preload),
            f"Set the preload to {preload / MILLIMETRE:.1f} mm instead of "
            f"{spring.preload / MILLIMETRE:.1f} mm.",
            "A straight spring carrying the load that the measured sag stands for.",
        )
    kept = min(spring.preload, most_preload)
    stiffness = force / (there + kept)
    return SpringChange(
        CoilSpring(stiffness=stiffness, preload=kept),
        f"Fit a spring of {stiffness * MILLIMETRE:.3g} N/mm instead of "
        f"{spring.stiffness * MILLIMETRE:.3g} N/mm, "
        f"at {kept / MILLIMETRE:.1f} mm of preload; preload alone would need "
        f"{preload / MILLIMETRE:.1f} mm, "
        f"and 0 to {most_preload / MILLIMETRE:.0f} mm is its range.",
        "A straight spring carrying the load that the measured sag stands for.",
    )


def _air(spring: AirSpring, here: float, there: float, gain: float) -> SpringChange:
    # The force is a straight line over the pressure: two of its points give the pressure wanted.
    force = gain * spring.force(shaft_travel=here)
    at_present = spring.force(shaft_travel=there)
    by_pressure = (spring.at_pressure(spring.pressure + BAR).force(shaft_travel=there) - at_present) / BAR
    pressure = spring.pressure + (force - at_present) / by_pressure
    return _to_pressure(
        spring, spring.at_pressure(pressure), "Air that has time to take the room's temperature."
    )


def _pressure_alone(spring: AirPressure, here: float, there: float, gain: float) -> SpringChange:
    absolute = (spring.pressure + ATMOSPHERE) * gain * here / there
    return _to_pressure(
        spring,
        AirPressure(pressure=absolute - ATMOSPHERE),
        "The chamber's volumes are not known: force taken as growing with absolute pressure and with "
        "travel; "
        "expect to correct once.",
    )


def _to_pressure(
    before: AirSpring | AirPressure, after: AirSpring | AirPressure, assumption: str
) -> SpringChange:
    more = ", never past the maker's limit" if after.pressure > before.pressure else ""
    words = (
        f"Set the spring to {after.pressure / BAR:.1f} bar instead of {before.pressure / BAR:.1f} bar{more}."
    )
    return SpringChange(after, words, assumption)
