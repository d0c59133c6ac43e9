"""The narrow mode: a rider names one instant, and the goal is a narrow band at one place of the travel."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, Literal

from damping_model.units import STANDARD_GRAVITY
from damping_model.vehicle.spring import AirSpring, CoilSpring
from optimiser.errors import InputError
from optimiser.intake.complaint import Complaint
from optimiser.intake.events import (
    ShaftWindow,
    WheelEvent,
    at_the_shaft,
    braking_dive,
    landing,
    pedal_bob,
    square_edge,
    wheel_window,
)
from optimiser.intake.machine import Corner, Machine, Rider
from optimiser.model.percent import share_text

EventKind = Literal["braking dive", "square edge", "landing", "pedal bob", "wheel velocity"]

USUAL_SAG: Final = 0.27
"""Where in the travel an event begins when nobody measured the sag; common practice, no source. [-]"""

USUAL_RISE_TIME: Final = 0.25
"""How long a rider takes to pull the brake; common practice, no source. [s]"""


@dataclass(frozen=True, slots=True)
class EventAsked:
    """An event as a job names it; which numbers are needed depends on the kind.

    Parameters
    ----------
    kind : the event.
    height : of the edge or of the fall. [m]
    speed : of the machine. [m/s]
    slope : of the ground that is landed on. [rad]
    deceleration : on the brakes. [m/s^2]
    rise_time : from no braking to all of it. [s]
    stroke : of a bob, highest to lowest. [m]
    cadence : turns of the cranks. [1/s]
    slowest, fastest : wheel velocity. [m/s]
    from_share, to_share : stretch of the travel; None for the usual one of the kind. [-]
    """

    kind: EventKind
    height: float | None = None
    speed: float | None = None
    slope: float = 0.0
    deceleration: float | None = None
    rise_time: float = USUAL_RISE_TIME
    stroke: float | None = None
    cadence: float | None = None
    slowest: float | None = None
    fastest: float | None = None
    from_share: float | None = None
    to_share: float | None = None


def event_at_the_shaft(
    asked: EventAsked, *, machine: Machine, corner: Corner, rider: Rider, sag: float | None = None
) -> ShaftWindow:
    """The shaft velocities of an event on this machine, with the assumptions in sentences.

    Parameters
    ----------
    asked : the event.
    machine, corner, rider : whose event it is.
    sag : measured, as wheel travel; None for the usual one. [m]

    Raises
    ------
    InputError
        Naming the number that the event needs and that is missing.
    """
    start = (sag / corner.travel) if sag is not None else USUAL_SAG
    event, usual_end = _EVENTS[asked.kind](asked, machine, corner, rider, start)
    from_share = asked.from_share if asked.from_share is not None else start
    to_share = asked.to_share if asked.to_share is not None else max(usual_end, min(from_share + 0.1, 1.0))
    window = at_the_shaft(
        event,
        leverage=corner.leverage,
        from_travel=from_share * corner.travel,
        to_travel=to_share * corner.travel,
    )
    where = "measured" if sag is not None else "usual, nobody measured it"
    begins = (
        "as asked" if asked.from_share is not None else f"at sag ({share_text(start)} of travel, {where})"
    )
    return replace(window, assumptions=(*window.assumptions, f"it begins {begins}"))


@dataclass(frozen=True, slots=True)
class ByRide:
    """What riding an event in time says of its velocities, or why nothing was ridden.

    Parameters
    ----------
    said : what the ride rests on, or what is missing for one, in a sentence without its full stop.
    low, high : shaft velocity; None where nothing was ridden. [m/s]
    from_travel, to_travel : wheel travel. [m]
    """

    said: str
    low: float | None = None
    high: float | None = None
    from_travel: float = 0.0
    to_travel: float = 0.0


def as_ridden_window(window: ShaftWindow, ride: ByRide) -> ShaftWindow:
    """A window with the velocities of a ride; those of the formula stay beside them as a check."""
    if ride.low is None or ride.high is None:
        return replace(window, assumptions=(*window.assumptions, f"velocities by the formula: {ride.said}"))
    check = (
        f"as a check, the formula gives {window.low:.2g} to {window.high:.2g} m/s: {window.assumptions[0]}"
    )
    return ShaftWindow(
        window.event,
        ride.low,
        ride.high,
        ride.from_travel,
        ride.to_travel,
        (f"velocities by simulation: {ride.said}", check),
    )


def narrowed(complaint: Complaint, window: ShaftWindow) -> Complaint:
    """A complaint moved to the shaft velocities of an event; numbers given in the job still win."""
    return replace(
        complaint,
        low=complaint.low or float(f"{window.low:.3g}"),
        high=complaint.high or float(f"{window.high:.3g}"),
        narrow=True,
        instant=None if complaint.low and complaint.high else window.event,
        stroke=complaint.stroke or (None if complaint.symptom else "compression"),
    )


def static_wheel_rate(corner: Corner, *, wheel_travel: float) -> float | None:
    """Spring rate at the wheel, linkage included; None when the spring's force is not known. [N/m]"""
    spring = corner.spring
    if not isinstance(spring, (CoilSpring, AirSpring)):
        return None
    at = corner.leverage.shaft_travel(wheel_travel=wheel_travel)
    return corner.leverage.wheel_rate(
        spring_rate=spring.rate(shaft_travel=at),
        spring_force=spring.force(shaft_travel=at),
        wheel_travel=wheel_travel,
    )


def _edge(
    asked: EventAsked, _machine: Machine, corner: Corner, _rider: Rider, start: float
) -> tuple[WheelEvent, float]:
    height = _needed(asked, "height")
    radius = _known(asked, corner.wheel_radius, f"wheel_radius_mm of corner '{corner.name}'")
    event = square_edge(height=height, speed=_needed(asked, "speed"), wheel_radius=radius)
    return event, min(start + height / corner.travel, 1.0)


def _landing(
    asked: EventAsked, _machine: Machine, _corner: Corner, _rider: Rider, _start: float
) -> tuple[WheelEvent, float]:
    return landing(height=_needed(asked, "height"), slope=asked.slope), 1.0


def _dive(
    asked: EventAsked, machine: Machine, corner: Corner, rider: Rider, start: float
) -> tuple[WheelEvent, float]:
    rate = static_wheel_rate(corner, wheel_travel=start * corner.travel)
    if rate is None:
        # From sag alone: the load sits on that much travel, so load over sag is a rate of the right size.
        rate = machine.sprung_mass(corner, rider) * STANDARD_GRAVITY / (start * corner.travel)
    alike = sum(other.end == corner.end for other in machine.corners)
    event, dive = braking_dive(
        deceleration=_needed(asked, "deceleration"),
        rise_time=asked.rise_time,
        mass=machine.mass + rider.mass,
        mass_height=_known(asked, machine.mass_height, "mass_height_mm of the machine"),
        wheelbase=_known(asked, machine.wheelbase, "wheelbase_mm of the machine"),
        wheel_rate=rate * alike,
    )
    return event, min(start + dive / corner.travel, 1.0)


def _bob(
    asked: EventAsked, _machine: Machine, corner: Corner, _rider: Rider, start: float
) -> tuple[WheelEvent, float]:
    stroke = _needed(asked, "stroke")
    event = pedal_bob(stroke=stroke, cadence=_needed(asked, "cadence"))
    return event, min(start + stroke / corner.travel, 1.0)


def _wheel(
    asked: EventAsked, _machine: Machine, _corner: Corner, _rider: Rider, start: float
) -> tuple[WheelEvent, float]:
    event = wheel_window(slowest=_needed(asked, "slowest"), fastest=_needed(asked, "fastest"))
    return event, min(start + 0.3, 1.0)


_EVENTS: Final[
    dict[EventKind, Callable[[EventAsked, Machine, Corner, Rider, float], tuple[WheelEvent, float]]]
] = {
    "square edge": _edge,
    "landing": _landing,
    "braking dive": _dive,
    "pedal bob": _bob,
    "wheel velocity": _wheel,
}


def _needed(asked: EventAsked, field: str) -> float:
    return _known(asked, getattr(asked, field), f"its {field}")


def _known(asked: EventAsked, value: float | None, what: str) -> float:
    if value is None:
        raise InputError(
            f"event '{asked.kind}': got no number for {what}, expected one. Add it, or leave the event out."
        )
    return value
