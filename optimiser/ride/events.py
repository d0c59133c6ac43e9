"""Events as values: what is met on which kind of machine, and which event stands behind a symptom."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from optimiser.errors import InputError

EventKind = Literal[
    "braking",
    "driving",
    "turning",
    "pedalling",
    "square edge",
    "rollers",
    "landing",
    "hollow",
    "lip",
    "rough road",
]

FigureName = Literal[
    "travel used",
    "settles after",
    "back after",
    "swing",
    "sinks in",
    "fastest compression",
    "fastest rebound",
    "least tyre load",
    "spread of tyre load",
    "acceleration",
    "hardest push",
    "end force",
]
"""What an event is judged by, see :class:`optimiser.ride.figures.RideFigures`."""

NEEDED: Final[Mapping[EventKind, tuple[str, ...]]] = {
    "braking": ("deceleration", "rise", "hold", "release"),
    "driving": ("acceleration", "rise", "hold", "release"),
    "turning": ("angle", "rise", "hold", "release"),
    "pedalling": ("acceleration", "cadence", "rise", "seconds"),
    "square edge": ("height", "speed"),
    "rollers": ("height", "length", "speed", "count"),
    "landing": ("height",),
    "hollow": ("height", "length", "speed"),
    "lip": ("height", "length", "speed"),
    "rough road": ("road_class", "speed", "seconds"),
}
"""Figures that each kind of event cannot do without."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RideEvent:
    """One event of a ride; which figures it has depends on its kind.

    Parameters
    ----------
    name : what the shop calls it.
    kind : what happens.
    assumes : what it rests on, in a sentence.
    wheels : 2 where both ends move, 1 where one corner by itself is enough.
    height : of an edge, a wave or a fall; depth of a hollow. [m]
    length : of a wave, a hollow or a face. [m]
    speed : of the machine. [m/s]
    count : of waves.
    deceleration, acceleration : of the machine; the mean of a push that comes and goes. [m/s^2]
    rise, hold, release : how long it comes on, stays, goes off. [s]
    angle : of a lean, from upright. [rad]
    cadence : turns of the cranks. [1/s]
    weight_shift : share of the rider's weight that moves up and down with every push. [-]
    road_class, seed : of a rough road by ISO 8608.
    seconds : how long it goes on, where nothing else says so. [s]
    """

    name: str
    kind: EventKind
    assumes: str
    wheels: Literal[1, 2] = 1
    height: float | None = None
    length: float | None = None
    speed: float | None = None
    count: int | None = None
    deceleration: float | None = None
    acceleration: float | None = None
    rise: float | None = None
    hold: float | None = None
    release: float | None = None
    angle: float | None = None
    cadence: float | None = None
    weight_shift: float = 0.0
    road_class: str | None = None
    seed: int = 1
    seconds: float | None = None

    def figure(self, name: str) -> float:
        """A number that the event cannot do without.

        Raises
        ------
        InputError
            When it has none.
        """
        value = getattr(self, name)
        if value is None:
            raise InputError(
                f"event '{self.name}': got no {name.replace('_', ' ')}, expected one for its kind "
                f"'{self.kind}'. Add it to the shop's rides.toml."
            )
        return float(value)


@dataclass(frozen=True, slots=True)
class Behind:
    """Which event stands behind a symptom.

    Parameters
    ----------
    symptom : a row of the shop's table.
    event : its name.
    figure : of the event, that says whether a change helped.
    better : whether less or more of it is.
    """

    symptom: str
    event: str
    figure: FigureName
    better: Literal["less", "more"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FeltLimits:
    """Differences that a rider feels; smaller ones are called none.

    Parameters
    ----------
    travel : [m]
    time : [s]
    velocity : [m/s]
    acceleration : [m/s^2]
    tyre_load, end_force : as shares of the load at rest. [-]
    """

    travel: float
    time: float
    velocity: float
    acceleration: float
    tyre_load: float
    end_force: float


@dataclass(frozen=True, slots=True)
class UsualFigure:
    """A figure of a kind of machine.

    Parameters
    ----------
    value : in SI.
    off : how far the true one may be from it, as a share. [-]
    """

    value: float
    off: float


@dataclass(frozen=True, slots=True)
class RideTable:
    """The shop's events, usual machines and what is felt.

    Parameters
    ----------
    events : for each kind of machine, in order; ``""`` for kinds that have no row of their own.
    usual : by kind of machine, by figure.
    behind : events behind symptoms.
    felt : what a rider feels.
    """

    events: Mapping[str, tuple[RideEvent, ...]]
    usual: Mapping[str, Mapping[str, UsualFigure]]
    behind: tuple[Behind, ...]
    felt: FeltLimits

    def events_on(self, kind: str) -> tuple[RideEvent, ...]:
        """The events as a kind of machine meets them."""
        return self.events.get(kind, self.events[""])

    def event(self, name: str, *, kind: str) -> RideEvent:
        """The event of a name.

        Raises
        ------
        InputError
            Naming the events that there are.
        """
        known = {event.name: event for event in self.events_on(kind)}
        if name in known:
            return known[name]
        near = difflib.get_close_matches(name, known, n=1)
        hint = (
            f"Did you mean '{near[0]}'?" if near else "Use one of those, or add it to the shop's rides.toml."
        )
        raise InputError(f"got event {name!r}, expected one of {', '.join(known)}. {hint}")

    def behind_symptom(self, symptom: str) -> Behind | None:
        """What stands behind a symptom; None where the table says nothing."""
        return next((row for row in self.behind if row.symptom == symptom), None)

    def usual_of(self, kind: str) -> Mapping[str, UsualFigure]:
        """Usual figures of a kind of machine.

        Raises
        ------
        InputError
            Naming the kinds that there are.
        """
        if kind not in self.usual:
            raise InputError(
                f"got a machine of kind {kind!r}, expected one of {', '.join(self.usual)} for a ride. "
                "Add it to the shop's rides.toml."
            )
        return self.usual[kind]
