"""One instant of a ride as a window of shaft velocity: event to wheel velocity, then through the linkage.

Every event is reduced to the fastest wheel velocity that elementary mechanics allows it, and to a stretch of
travel. The assumption behind each is kept as a sentence beside the figure.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from damping_model.units import MILLIMETRE, STANDARD_GRAVITY
from damping_model.vehicle.leverage import LeverageCurve
from optimiser.errors import InputError
from optimiser.model.percent import share_text

SLOWEST_SHARE: Final = 0.5
"""A window reaches from this share of the fastest wheel velocity up to it; common practice, no source. [-]"""


@dataclass(frozen=True, slots=True)
class WheelEvent:
    """What an event asks of the wheel.

    Parameters
    ----------
    name : the event.
    slowest, fastest : wheel velocity. [m/s]
    assumption : what the figure rests on, in a sentence.
    """

    name: str
    slowest: float
    fastest: float
    assumption: str


@dataclass(frozen=True, slots=True)
class ShaftWindow:
    """What an event asks of the shaft, over a stretch of the travel.

    Parameters
    ----------
    event : its name.
    low, high : slowest and fastest shaft velocity. [m/s]
    from_travel, to_travel : stretch of wheel travel. [m]
    assumptions : what it rests on, in sentences.
    """

    event: str
    low: float
    high: float
    from_travel: float
    to_travel: float
    assumptions: tuple[str, ...]


def square_edge(*, height: float, speed: float, wheel_radius: float) -> WheelEvent:
    r"""Wheel velocity at the instant a rigid wheel meets a square edge.

    Parameters
    ----------
    height : of the edge, less than the wheel's radius. [m]
    speed : of the machine. [m/s]
    wheel_radius : with tyre. [m]

    Notes
    -----
    The wheel turns about the edge, so its axle moves at right angles to the line between them. With
    :math:`\cos\theta = (R-h)/R` the axle's vertical velocity is :math:`v \tan\theta = v\sqrt{2Rh-h^2}/(R-h)`.
    Elementary; an upper bound, since a tyre gives way.
    """
    _above_zero("square edge", height=height, speed=speed, wheel_radius=wheel_radius)
    if height >= wheel_radius:
        raise InputError(
            f"square edge: got a height of {height / MILLIMETRE:g} mm, expected less than the wheel's "
            "radius of "
            f"{wheel_radius / MILLIMETRE:g} mm. A wheel does not roll over more."
        )
    fastest = speed * math.sqrt(2 * wheel_radius * height - height**2) / (wheel_radius - height)
    return _event(
        "square edge",
        fastest,
        f"a rigid wheel of {wheel_radius / MILLIMETRE:.0f} mm radius meets an edge of "
        f"{height / MILLIMETRE:.0f} mm at {speed:g} m/s; a tyre makes it less",
    )


def landing(*, height: float, slope: float = 0.0) -> WheelEvent:
    r"""Wheel velocity on touching down after a fall.

    Parameters
    ----------
    height : of the fall. [m]
    slope : of the ground, falling away; 0 for flat. [rad]

    Notes
    -----
    Free fall gives :math:`\sqrt{2 g H}`; only its part at right angles to the ground, :math:`\cos` of the
    slope, goes into the travel when there is no forward speed. Elementary; an upper bound, since arms and
    legs give way.
    """
    _above_zero("landing", height=height)
    if not 0 <= slope < math.pi / 2:
        raise InputError(
            f"landing: got a slope of {math.degrees(slope):g} degrees, expected 0 (flat) to less than 90."
        )
    fastest = math.sqrt(2 * STANDARD_GRAVITY * height) * math.cos(slope)
    where = "flat ground" if slope == 0 else f"ground falling by {math.degrees(slope):.0f} degrees"
    return _event(
        "landing", fastest, f"a free fall from {height:g} m onto {where}; arms and legs make it less"
    )


def braking_dive(
    *,
    deceleration: float,
    rise_time: float,
    mass: float,
    mass_height: float,
    wheelbase: float,
    wheel_rate: float,
) -> tuple[WheelEvent, float]:
    r"""Wheel velocity of the dive when the brakes come on, and how far it goes.

    Parameters
    ----------
    deceleration : that is reached. [m/s^2]
    rise_time : from nothing to all of it. [s]
    mass : of machine and rider. [kg]
    mass_height : of the centre of gravity. [m]
    wheelbase : between the axles. [m]
    wheel_rate : spring rate at the wheels of the end that dives. [N/m]

    Returns
    -------
    event, dive : the wheel's velocity, and the travel used. [m]

    Notes
    -----
    Load transfer :math:`\Delta F = m a h / l` (moments about the contact patch; any vehicle text) sinks the
    end by :math:`\Delta F/k`. Taken as half a cosine wave over the rise time, the fastest moment is
    :math:`\pi/2` times the mean.
    """
    _above_zero(
        "braking dive",
        deceleration=deceleration,
        rise_time=rise_time,
        mass=mass,
        mass_height=mass_height,
        wheelbase=wheelbase,
        wheel_rate=wheel_rate,
    )
    dive = mass * deceleration * mass_height / wheelbase / wheel_rate
    fastest = math.pi / 2 * dive / rise_time
    assumption = (
        f"braking at {deceleration:g} m/s^2, built up over {rise_time:g} s, moves the load forward "
        "and sinks the "
        f"wheel by {dive / MILLIMETRE:.0f} mm against its spring alone; the damper makes it less"
    )
    return _event("braking dive", fastest, assumption), dive


def pedal_bob(*, stroke: float, cadence: float) -> WheelEvent:
    r"""Wheel velocity of bobbing under pedalling.

    Parameters
    ----------
    stroke : wheel travel from the highest to the lowest place of the bob. [m]
    cadence : turns of the cranks. [1/s]

    Notes
    -----
    Two pushes a turn make a sine wave of :math:`f = 2 n`; its fastest velocity is :math:`\pi f` times the
    stroke. Elementary.
    """
    _above_zero("pedal bob", stroke=stroke, cadence=cadence)
    return _event(
        "pedal bob",
        math.pi * 2 * cadence * stroke,
        f"a sine wave of {stroke / MILLIMETRE:.0f} mm in all, two a turn at {cadence * 60:.0f} turns "
        "a minute",
    )


def wheel_window(*, slowest: float, fastest: float) -> WheelEvent:
    """A range of wheel velocity [m/s] that somebody measured or chose."""
    _above_zero("wheel velocity", slowest=slowest, fastest=fastest)
    if slowest >= fastest:
        raise InputError(
            f"wheel velocity: got {slowest:g} to {fastest:g} m/s, expected the lower first. Swap them."
        )
    return WheelEvent("wheel velocity", slowest, fastest, "wheel velocities given in numbers")


def at_the_shaft(
    event: WheelEvent, *, leverage: LeverageCurve, from_travel: float, to_travel: float
) -> ShaftWindow:
    """What an event asks of the shaft over a stretch of wheel travel.

    Parameters
    ----------
    event : wheel velocities.
    leverage : the linkage.
    from_travel, to_travel : stretch of wheel travel, shallow end first. [m]

    Raises
    ------
    InputError
        When the stretch runs backwards or leaves the travel.
    """
    end = leverage.wheel_travel_end
    if not 0 <= from_travel < to_travel <= end * (1 + 1e-9):
        raise InputError(
            f"{event.name}: got travel from {from_travel / MILLIMETRE:g} to "
            f"{to_travel / MILLIMETRE:g} mm, expected "
            f"a stretch between 0 and {end / MILLIMETRE:g} mm with the shallow end first."
        )
    ratios = leverage.motion_ratio(wheel_travel=np.linspace(from_travel, to_travel, 201))
    low, high = event.slowest * float(ratios.min()), event.fastest * float(ratios.max())
    through = (
        f"between {from_travel / MILLIMETRE:.0f} and {to_travel / MILLIMETRE:.0f} mm of wheel travel "
        "the wheel moves "
        f"{1 / ratios.max():.2f} to {1 / ratios.min():.2f} times as fast as the shaft, so the shaft sees "
        f"{low:.2f} to {high:.2f} m/s"
    )
    return ShaftWindow(event.name, low, high, from_travel, to_travel, (event.assumption, through))


def _event(name: str, fastest: float, assumption: str) -> WheelEvent:
    judged = f"judged from {share_text(SLOWEST_SHARE)} of that upwards"
    words = f"{assumption}: wheel at most {fastest:.2f} m/s, {judged}"
    return WheelEvent(name, SLOWEST_SHARE * fastest, fastest, words)


def _above_zero(event: str, **values: float) -> None:
    for what, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise InputError(f"{event}: got {what.replace('_', ' ')} {value}, expected a number above 0.")
