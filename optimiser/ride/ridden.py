"""An event on a machine: what it does to each corner over time, and the ride that comes of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from damping_model.errors import ModelError
from damping_model.ride.inputs import CornerInput, Course, level
from damping_model.ride.loads import Transfer, in_a_turn, in_strokes, pulled_and_let_go, together
from damping_model.ride.ride_motion import RideMotion
from damping_model.ride.roads import BEFORE, hollow, later, lip, rollers, square_edge, uneven
from damping_model.ride.simulate import AT_REST, Start, simulate
from damping_model.units import STANDARD_GRAVITY
from optimiser.errors import InputError
from optimiser.ride.as_ridden import AsRidden
from optimiser.ride.events import EventKind, RideEvent

AFTER: Final = 0.9
"""How long a ride goes on after its event, to see it settle. [s]"""


@dataclass(frozen=True, slots=True)
class RiddenEvent:
    """What an event does to a machine.

    Parameters
    ----------
    event : which.
    inputs : of each corner.
    duration : of the ride. [s]
    ends : when the event is over. [s]
    start : how the ride begins.
    """

    event: RideEvent
    inputs: tuple[CornerInput, ...]
    duration: float
    ends: float
    start: Start = AT_REST


def ridden_event(event: RideEvent, on: AsRidden) -> RiddenEvent:
    """An event as it comes to each corner of a machine.

    Raises
    ------
    InputError
        When the event lacks a number, or the machine cannot meet it.
    """
    try:
        return _EVENTS[event.kind](event, on)
    except ModelError as error:
        raise InputError(f"event '{event.name}': {error}") from None


def ride(ready: RiddenEvent, on: AsRidden) -> RideMotion:
    """Ride an event.

    Raises
    ------
    ModelError
        When the machine rests nowhere in its travel, or the ride cannot be computed.
    """
    return simulate(on.machine, ready.inputs, duration=ready.duration, start=ready.start)


def _over(event: RideEvent, on: AsRidden, road: Course, lasts: float) -> RiddenEvent:
    """A road under every wheel, the rear one later."""
    behind = on.wheelbase / event.figure("speed")
    inputs = tuple(
        CornerInput(road=later(road, behind) if rear and len(on.rear) == 2 else road) for rear in on.rear
    )
    ends = BEFORE + lasts + (behind if len(on.rear) == 2 else 0.0)
    return RiddenEvent(event, inputs, ends + AFTER, ends)


def _edge(event: RideEvent, on: AsRidden) -> RiddenEvent:
    height, speed = event.figure("height"), event.figure("speed")
    road = square_edge(height=height, speed=speed, wheel_radius=on.wheel_radius)
    return _over(event, on, road, math.sqrt(2 * on.wheel_radius * height) / speed)


def _rollers(event: RideEvent, on: AsRidden) -> RiddenEvent:
    length, speed, count = event.figure("length"), event.figure("speed"), int(event.figure("count"))
    road = rollers(height=event.figure("height"), length=length, speed=speed, count=count)
    return _over(event, on, road, count * length / speed)


def _hollow(event: RideEvent, on: AsRidden) -> RiddenEvent:
    length, speed = event.figure("length"), event.figure("speed")
    return _over(event, on, hollow(depth=event.figure("height"), length=length, speed=speed), length / speed)


def _lip(event: RideEvent, on: AsRidden) -> RiddenEvent:
    length, speed = event.figure("length"), event.figure("speed")
    road = lip(height=event.figure("height"), length=length, speed=speed)
    ready = _over(event, on, road, length / speed)
    # what comes after the lip is another event: a fall onto ground that nobody described
    return RiddenEvent(event, ready.inputs, ready.ends + 0.25, ready.ends)


def _uneven(event: RideEvent, on: AsRidden) -> RiddenEvent:
    road = uneven(road_class=str(event.road_class), speed=event.figure("speed"), seed=event.seed)
    ready = _over(event, on, road, event.figure("seconds"))
    return RiddenEvent(event, ready.inputs, ready.ends, ready.ends)


def _landing(event: RideEvent, on: AsRidden) -> RiddenEvent:
    height = event.figure("height")
    falls = math.sqrt(2 * height / STANDARD_GRAVITY)
    inputs = tuple(CornerInput() for _ in on.rear)
    return RiddenEvent(event, inputs, falls + 0.3 + AFTER, falls, Start(fall=height))


def _moved(
    event: RideEvent, on: AsRidden, *, forward: float, push: Course, lasts: float, also: Course = level
) -> RiddenEvent:
    """Load moved to the front (forward 1) or the rear (-1), and more load on both by their shares."""
    transfer = Transfer(mass=on.mass, mass_height=on.mass_height, wheelbase=on.wheelbase).moved(1.0)
    inputs = []
    for rear, share in zip(on.rear, on.machine.body.shares, strict=True):
        by_transfer = transfer * forward * (1.0 if rear else -1.0)
        past = on.anti_squat if rear and forward < 0 else 0.0
        load = together((by_transfer * (1 - past), push), (share, also))
        inputs.append(CornerInput(load=load, on_wheel=together((by_transfer * past, push))))
    return RiddenEvent(event, tuple(inputs), BEFORE + lasts + AFTER, BEFORE + lasts)


def _braking(event: RideEvent, on: AsRidden) -> RiddenEvent:
    push, lasts = _pull(event, event.figure("deceleration"))
    return _moved(event, on, forward=1.0, push=push, lasts=lasts)


def _driving(event: RideEvent, on: AsRidden) -> RiddenEvent:
    push, lasts = _pull(event, event.figure("acceleration"))
    return _moved(event, on, forward=-1.0, push=push, lasts=lasts)


def _turning(event: RideEvent, on: AsRidden) -> RiddenEvent:
    push, lasts = _pull(event, in_a_turn(event.figure("angle")))
    return _moved(event, on, forward=1.0, push=level, lasts=lasts, also=_down(push))


def _pedalling(event: RideEvent, on: AsRidden) -> RiddenEvent:
    rise, frequency = event.figure("rise"), 2 * event.figure("cadence")
    strokes = in_strokes(mean=1.0, frequency=frequency, rise_time=rise)
    steady = pulled_and_let_go(peak=1.0, rise_time=rise, hold=60.0, fall_time=1.0)
    weight = event.weight_shift * on.rider_mass / on.mass * STANDARD_GRAVITY
    leaned = in_a_turn(event.angle or 0.0) * STANDARD_GRAVITY
    lasts = event.figure("seconds")
    also = together((-weight, strokes), (weight - leaned, steady))
    ready = _moved(
        event,
        on,
        forward=-1.0,
        push=together((event.figure("acceleration"), strokes)),
        lasts=lasts,
        also=also,
    )
    return RiddenEvent(event, ready.inputs, BEFORE + lasts, BEFORE + lasts)


def _pull(event: RideEvent, peak: float) -> tuple[Course, float]:
    rise, hold, release = (event.figure(name) for name in ("rise", "hold", "release"))
    return pulled_and_let_go(peak=peak, rise_time=rise, hold=hold, fall_time=release), rise + hold + release


def _down(push: Course) -> Course:
    return together((-STANDARD_GRAVITY, push))


_EVENTS: Final[dict[EventKind, Callable[[RideEvent, AsRidden], RiddenEvent]]] = {
    "braking": _braking,
    "driving": _driving,
    "turning": _turning,
    "pedalling": _pedalling,
    "square edge": _edge,
    "rollers": _rollers,
    "landing": _landing,
    "hollow": _hollow,
    "lip": _lip,
    "rough road": _uneven,
}
