"""What the wheel does, in a rider's words: each event before, and what each step of effort makes of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields
from typing import Final

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from damping_model.units import STANDARD_GRAVITY
from optimiser.jobs.ride_job import EventRidden, JobRide
from optimiser.model.percent import share_text
from optimiser.model.unmeasured import unmeasured_words
from optimiser.report.console import print_drawing
from optimiser.report.ladder_text import effort_words
from optimiser.report.ride_drawing import travel_text
from optimiser.report.unit_system import UnitSystem
from optimiser.ride.as_ridden import FRONT
from optimiser.ride.events import EventKind, FigureName, RideEvent
from optimiser.ride.figures import RideFigures
from optimiser.ride.telling import SAID, FigureChange, Told, changes

DOES: Final[Mapping[tuple[EventKind, bool], str]] = {("braking", True): "dives", ("driving", False): "squats"}
"""What using travel is called in an event, at the front or not; elsewhere it is using."""

NOT_FELT: Final = "no difference anyone feels"

RESTS_ON: Final = (
    "One plane, a body that is stiff, a rider who sits still, tyres as spring and damper that may leave the "
    "ground, steady damper forces. Sizes of events, usual figures and what is felt are common practice "
    "without a source; a rides.toml beside the shelf says otherwise."
)
"""What every ride rests on."""


def print_ride(console: Console, ride: JobRide, *, units: UnitSystem, drawn: int = 1) -> None:
    """Show what the wheel does.

    Parameters
    ----------
    console : where to.
    ride : what was ridden.
    units : what people read.
    drawn : how many events are drawn, the first ones.
    """
    for number, event in enumerate(ride.events):
        console.print(Text(event_head(event.event, units=units), style="bold"))
        console.print(Padding(before_words(event, units=units), (0, 0, 0, 2)))
        for words in after_lines(ride, event, units=units):
            console.print(Padding(words, (0, 0, 0, 2)))
        console.print(Padding(f"Assumed: {event.event.assumes}.", (0, 0, 0, 2)), style="dim")
        if number < drawn:
            print_drawing(console, travel_text(ride, event, units=units, width=min(console.width, 100)))
        console.print()
    for words in summary_lines(ride):
        console.print(words)
    for words in rests_on(ride):
        console.print(words, style="dim")


def print_behind(console: Console, ride: JobRide, *, units: UnitSystem) -> None:
    """Show the event behind a complaint, a few lines of a plan."""
    for words in behind_lines(ride, units=units):
        console.print(words)
    console.print()


def behind_lines(ride: JobRide, *, units: UnitSystem) -> Iterator[str]:
    """The event behind a complaint in sentences: as it is, after each step of effort, what it rests on."""
    event = ride.events[0]
    yield f"At the wheel, simulated: {event_head(event.event, units=units)}, {ride.corner}."
    yield before_words(event, units=units)
    for words in after_lines(ride, event, units=units):
        yield f"{words[0].upper()}{words[1:]}."
    yield f"Assumed: {event.event.assumes}. More events: shimwright ride."


def summary_lines(ride: JobRide) -> Iterator[str]:
    """For each step of effort, the events that it is felt in and those that it is not."""
    for place, step in enumerate(ride.steps):
        yield f"{effort_words(step.changes).capitalize()}: {felt_words(ride, place)}."


def felt_words(ride: JobRide, place: int) -> str:
    """The events that a step is felt in and those that it is not.

    Parameters
    ----------
    ride : what was ridden.
    place : of the step.
    """
    noticed = [event.event.name for event in ride.events if is_felt(ride, event, place)]
    rest = [event.event.name for event in ride.events if event.event.name not in noticed]
    felt = f"felt in {', '.join(noticed)}" if noticed else "felt nowhere"
    return f"{felt}; {', '.join(rest)}: {NOT_FELT}" if rest else felt


def is_felt(ride: JobRide, event: EventRidden, place: int) -> bool:
    """Whether a rider feels what a step makes of an event."""
    return any(one.felt for one in _changes(ride, event, place))


def after_lines(ride: JobRide, event: EventRidden, *, units: UnitSystem) -> Iterator[str]:
    """What each step of effort makes of an event, one line a step."""
    for place, step in enumerate(ride.steps):
        yield f"{effort_words(step.changes)}: {after_words(ride, event, place, units=units)}"


def after_words(ride: JobRide, event: EventRidden, place: int, *, units: UnitSystem) -> str:
    """What one step makes of an event.

    Parameters
    ----------
    ride : what was ridden.
    event : of it.
    place : of the step.
    units : what people read.
    """
    found = [one for one in _changes(ride, event, place) if one.felt]
    said = ", ".join(change_words(event, one, units=units) for one in found)
    if not found:
        said = NOT_FELT + _all_the_same(event, place, units)
    return f"{said}{_beyond(event.after[place].figures)}"


def _all_the_same(event: EventRidden, place: int, units: UnitSystem) -> str:
    """The figure that the event is judged by, in brackets, although nobody feels its change."""
    name = event.judged_by
    if name is None:
        return ""
    before, after = (told.figures.of(name) for told in (event.before, event.after[place]))
    if before is None or after is None:
        return ""
    text = _size(name, units)
    if text == units.travel_text:
        decimals = 1 if units is UnitSystem.METRIC else 2
        now, then = (f"{units.length(value):.{decimals}f} {units.length_unit}" for value in (before, after))
    else:
        now, then = text(before), text(after)
    beside = "as before" if then == now else f"instead of {now}"
    return f" ({_verb(event, name)} {then} {beside})"


def rests_on(ride: JobRide) -> Iterator[str]:
    """What the figures rest on, in sentences."""
    if ride.taken:
        yield f"Taken as usual for the machine, not measured: {unmeasured_words(ride.taken)}."
    for words in ride.said:
        yield f"{words[0].upper()}{words[1:]}."
    yield RESTS_ON


def event_head(event: RideEvent, *, units: UnitSystem) -> str:
    """An event with its numbers."""
    return f"{event.name} ({', '.join(_numbers(event, units))})"


def before_words(event: EventRidden, *, units: UnitSystem) -> str:
    """An event with the damper as it is, in a sentence."""
    one = event.before.figures
    told = [_now(event, name, one, units) for name in SAID[event.event.kind]]
    fast = (
        f"shaft up to {units.velocity(one.compression):.2g} {units.velocity_unit} in (at "
        f"{units.travel_text(one.compression_at)}), {units.velocity(one.rebound):.2g} out (at "
        f"{units.travel_text(one.rebound_at)})"
    )
    air = f"in the air for {one.in_the_air:.2f} s" if one.in_the_air > 0.005 else ""
    words = ", ".join(filter(None, [*told, fast, air]))
    return f"Now: {words}. {_work(event.before)}{_beyond(one)}"


def change_words(event: EventRidden, change: FigureChange, *, units: UnitSystem) -> str:
    """One figure before and after: ``dives 4 mm less of 62``."""
    name, before, after = change.name, change.before, change.after
    if before is None or after is None:
        when = "never while it was watched"
        text = _size(name, units)
        return f"{_verb(event, name)} {when if after is None else text(after)} instead of " + (
            when if before is None else text(before)
        )
    if name in {"travel used", "swing", "sinks in"}:
        less = "less" if after < before else "more"
        return (
            f"{_verb(event, name)} {units.travel_text(abs(after - before))} {less} of "
            f"{units.travel_text(before)}"
        )
    text = _size(name, units)
    return f"{_verb(event, name)} {text(after)} instead of {text(before)}"


def _changes(ride: JobRide, event: EventRidden, place: int) -> tuple[FigureChange, ...]:
    before, after = event.before.figures, event.after[place].figures
    return changes(event.event.kind, before, after, felt=ride.felt)


def _now(event: EventRidden, name: FigureName, figures: RideFigures, units: UnitSystem) -> str:
    value = figures.of(name)
    if value is None:
        return ""
    if name == "travel used":
        left = f", {units.travel_text(figures.left)} left" if figures.left > 0 else ", and meets the end"
        return f"{_verb(event, name)} {units.travel_text(value)} from {units.travel_text(figures.rest)}{left}"
    if name == "end force" and value == 0:
        return ""
    return f"{_verb(event, name)} {_size(name, units)(value)}"


def _verb(event: EventRidden, name: FigureName) -> str:
    return {
        "travel used": DOES.get((event.event.kind, event.end == FRONT), "uses"),
        "settles after": "settles after",
        "back after": "is back after",
        "swing": "swings",
        "sinks in": "sinks in",
        "fastest compression": "goes in at",
        "fastest rebound": "comes out at",
        "least tyre load": "keeps of the tyre's load at least",
        "spread of tyre load": "lets the tyre's load vary by",
        "acceleration": "shakes by",
        "hardest push": "pushes up by",
        "end force": "meets the end spring with",
    }[name]


def _size(name: FigureName, units: UnitSystem) -> Callable[[float], str]:
    if name in {"travel used", "swing", "sinks in"}:
        return units.travel_text
    if name in {"settles after", "back after"}:
        return lambda value: f"{value:.2f} s"
    if name in {"fastest compression", "fastest rebound"}:
        return lambda value: f"{units.velocity(value):.2g} {units.velocity_unit}"
    if name in {"acceleration", "hardest push"}:
        return lambda value: f"{value / STANDARD_GRAVITY:.1f} g"
    if name == "end force":
        return lambda value: f"{value:.1f} times the load at rest"
    return share_text


def _work(one: Told) -> str:
    """Where the damper's work goes."""
    parts = [
        f"{share_text(use.energy / total)} at {use.band} speed in {use.stroke}"
        for total in [sum(max(use.energy, 0.0) for use in one.figures.bands)]
        if total > 0
        for use in sorted(one.figures.bands, key=lambda use: -use.energy)[:2]
        if use.energy > 0.05 * total
    ]
    return f"Of the damper's work in the bands: {', '.join(parts)}." if parts else ""


def _beyond(figures: RideFigures) -> str:
    """The flag where the shaft is faster than the model promises figures for."""
    if figures.beyond_promise <= 0:
        return ""
    return (
        f" [for {figures.beyond_promise:.2f} s the shaft is faster than oil stays whole at: "
        "nothing is promised there]"
    )


def _numbers(event: RideEvent, units: UnitSystem) -> Iterator[str]:
    words: Mapping[str, Callable[[float], str]] = {
        "height": lambda x: f"{units.travel_text(x)} {'deep' if event.kind == 'hollow' else 'high'}",
        "length": lambda x: f"{x:g} m long" if units is UnitSystem.METRIC else f"{units.travel_text(x)} long",
        "speed": lambda x: f"at {units.velocity_text(x)} {units.velocity_unit}",
        "count": lambda x: f"{x:g} in a row",
        "deceleration": lambda x: f"{x:g} m/s²",
        "acceleration": lambda x: f"{x:g} m/s²",
        "angle": lambda x: f"leaned {math.degrees(x):.0f}°",
        "cadence": lambda x: f"{60 * x:.0f} turns a minute",
    }
    for field in fields(event):
        value = getattr(event, field.name)
        if field.name in words and value is not None:
            yield words[field.name](value)
    if event.road_class is not None:
        yield f"class {event.road_class}"
