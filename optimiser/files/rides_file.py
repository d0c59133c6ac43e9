"""The shop's events, usual machines and what is felt, read and checked."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Annotated, Final, Literal

from pydantic import Field, model_validator

import optimiser.ride
from damping_model.ride.roads import CLASS_ROUGHNESS
from damping_model.units import MILLIMETRE, STANDARD_GRAVITY
from optimiser.errors import InputError
from optimiser.files.base import FileModel, read_toml
from optimiser.ride.events import (
    NEEDED,
    Behind,
    EventKind,
    FeltLimits,
    FigureName,
    RideEvent,
    RideTable,
    UsualFigure,
)

OUR_OWN: Final = Path(optimiser.ride.__file__).with_name("rides.toml")
"""What is used where a shop has no file of its own."""

SHOPS_OWN: Final = "rides.toml"
"""Name of a shop's own table, in the folder of its shelf."""

Words = Annotated[str, Field(min_length=3, max_length=400)]
Name = Annotated[str, Field(min_length=1, max_length=80)]
Seconds = Annotated[float, Field(gt=0, le=20)]
Figure = Annotated[list[float], Field(min_length=2, max_length=2)]

FACTORS: Final = {
    "height_mm": ("height", MILLIMETRE),
    "length_m": ("length", 1.0),
    "speed_m_s": ("speed", 1.0),
    "count": ("count", 1),
    "deceleration_m_s2": ("deceleration", 1.0),
    "acceleration_m_s2": ("acceleration", 1.0),
    "rise_s": ("rise", 1.0),
    "hold_s": ("hold", 1.0),
    "release_s": ("release", 1.0),
    "angle_deg": ("angle", math.pi / 180),
    "cadence_rpm": ("cadence", 1 / 60),
    "weight_shift_percent": ("weight_shift", 0.01),
    "seconds": ("seconds", 1.0),
    "seed": ("seed", 1),
}
"""Keys of an event's numbers, what they are called inside, and what makes them SI."""


class EventFigures(FileModel):
    """Numbers of an event; which it needs depends on its kind."""

    height_mm: Annotated[float, Field(gt=0, le=20_000)] | None = None
    """Of an edge, a wave or a fall; depth of a hollow."""
    length_m: Annotated[float, Field(gt=0, le=200)] | None = None
    """Of a wave, a hollow or a face."""
    speed_m_s: Annotated[float, Field(gt=0, le=60)] | None = None
    count: Annotated[int, Field(ge=1, le=100)] | None = None
    """Of waves in a row."""
    deceleration_m_s2: Annotated[float, Field(gt=0, le=20)] | None = None
    acceleration_m_s2: Annotated[float, Field(gt=0, le=20)] | None = None
    """Of the machine; the mean of a push that comes and goes."""
    rise_s: Seconds | None = None
    hold_s: Seconds | None = None
    release_s: Seconds | None = None
    angle_deg: Annotated[float, Field(ge=0, lt=60)] | None = None
    cadence_rpm: Annotated[float, Field(gt=0, le=200)] | None = None
    weight_shift_percent: Annotated[float, Field(ge=0, le=80)] | None = None
    """Of the rider's weight, up and down with every push."""
    road_class: Literal[tuple(CLASS_ROUGHNESS)] | None = None  # type: ignore[valid-type]
    """Of a rough road, by ISO 8608."""
    seed: Annotated[int, Field(ge=0, le=1_000_000)] | None = None
    seconds: Seconds | None = None
    """How long it goes on, where nothing else says so."""

    def in_si(self) -> dict[str, float | int | str]:
        """Those that are given, by their names inside."""
        given = {key: getattr(self, key) for key in FACTORS if getattr(self, key) is not None}
        found: dict[str, float | int | str] = {
            FACTORS[key][0]: value * FACTORS[key][1] for key, value in given.items()
        }
        return found | ({} if self.road_class is None else {"road_class": self.road_class})


class EventRow(EventFigures):
    """One event of a ride."""

    name: Name
    kind: EventKind
    wheels: Literal[1, 2] = 1
    """2 where both ends move, 1 where one corner by itself is enough."""
    assumes: Words
    """What it rests on, in a sentence."""
    on: dict[str, EventFigures] = Field(default_factory=dict)
    """Numbers that hold for a kind of machine instead."""

    @model_validator(mode="after")
    def _complete(self) -> EventRow:
        for kind in ("", *self.on):
            event = self.event(kind)
            missing = [name for name in NEEDED[event.kind] if getattr(event, name) is None]
            if missing:
                raise ValueError(f"{missing[0]} for an event of kind '{self.kind}'")
        return self

    def event(self, kind: str) -> RideEvent:
        """The event as a kind of machine meets it."""
        own = self.on[kind].in_si() if kind in self.on else {}
        figures: dict[str, object] = {**self.in_si(), **own}
        return RideEvent(
            name=self.name,
            kind=self.kind,
            wheels=self.wheels,
            assumes=self.assumes,
            **figures,  # type: ignore[arg-type]
        )


class UsualRow(FileModel):
    """Usual figures of a kind of machine, each with how far off it may be in percent."""

    name: Name
    tyre_rate_n_mm: Figure
    tyre_damping_n_s_m: Figure
    wheel_radius_mm: Figure
    wheelbase_mm: Figure
    mass_height_mm: Figure
    pitch_index_percent: Figure
    """Pitch inertia as a share of what two masses over the axles have."""
    unsprung_percent: Figure
    """Of the load on a wheel."""
    end_spring_from_percent: Figure
    """Of the travel."""
    end_spring_force: Figure
    """At the end of the travel, in loads at rest."""
    top_out_mm: Figure
    air_compression: Figure
    """Pressure at the end of the travel over that at its start, of an air spring of unknown size."""
    other_damping_percent: Figure
    """Damping ratio at the end whose damper nobody described."""

    @model_validator(mode="after")
    def _above_zero(self) -> UsualRow:
        for key in type(self).model_fields:
            pair = getattr(self, key)
            if isinstance(pair, list) and not (pair[0] > 0 and 0 < pair[1] < 100):
                raise ValueError(f"{key} as [value above 0, percent off between 0 and 100], got {pair}")
        return self

    def figures(self) -> dict[str, UsualFigure]:
        """In SI, without units in their names."""
        units = {"_n_mm": 1 / MILLIMETRE, "_n_s_m": 1.0, "_mm": MILLIMETRE, "_percent": 0.01}
        found = {}
        for key in type(self).model_fields:
            if key == "name":
                continue
            unit = next((one for one in units if key.endswith(one)), "")
            value, off = getattr(self, key)
            found[key.removesuffix(unit)] = UsualFigure(value * units.get(unit, 1.0), off / 100)
        return found


class BehindRow(FileModel):
    """Which event stands behind a symptom."""

    symptom: Name
    event: Name
    figure: FigureName
    better: Literal["less", "more"]


class FeltSection(FileModel):
    """Differences that a rider feels."""

    travel_mm: Annotated[float, Field(gt=0, le=100)]
    time_s: Annotated[float, Field(gt=0, le=5)]
    velocity_m_s: Annotated[float, Field(gt=0, le=5)]
    acceleration_g: Annotated[float, Field(gt=0, le=10)]
    tyre_load_percent: Annotated[float, Field(gt=0, le=100)]
    end_force_percent: Annotated[float, Field(gt=0, le=500)]


class RidesFile(FileModel):
    """The whole table; what a shop's own file leaves out is as in the one that comes with the program."""

    felt: FeltSection | None = None
    kind: tuple[UsualRow, ...] = ()
    """Usual machines; a row of a known name takes its place."""
    event: tuple[EventRow, ...] = ()
    """What is met on a ride; a row of a known name takes its place, others are added."""
    behind: tuple[BehindRow, ...] = ()
    """Events behind symptoms; a row of a known symptom takes its place."""

    def over(self, below: RidesFile) -> RidesFile:
        """What is said here, and what the other file says where nothing is."""
        kinds = {row.name: row for row in (*below.kind, *self.kind)}
        events = {row.name: row for row in (*below.event, *self.event)}
        behind = {row.symptom: row for row in (*below.behind, *self.behind)}
        return RidesFile(
            felt=self.felt or below.felt,
            kind=tuple(kinds.values()),
            event=tuple(events.values()),
            behind=tuple(behind.values()),
        )


def read_rides(path: Path = OUR_OWN) -> RideTable:
    """The table of a shop's file, or our own; a shop's file may leave out what it does not change.

    Raises
    ------
    InputError
        Naming file, line and field; or the event of a symptom that is not there.
    """
    file = read_toml(path, RidesFile, what="rides")
    if path != OUR_OWN:
        file = file.over(read_toml(OUR_OWN, RidesFile, what="rides"))
    names = [row.name for row in file.event]
    for row in file.behind:
        if row.event not in names:
            raise InputError(
                f"{path}: behind: expected the event of '{row.symptom}' to be one of {', '.join(names)}, "
                f"got {row.event!r}. Name one of them, or add an [[event]]."
            )
    if file.felt is None:
        raise InputError(f"{OUR_OWN}: felt: missing; install the program again.")
    kinds = {"", *(kind for row in file.event for kind in row.on)}
    felt = file.felt
    return RideTable(
        events={kind: tuple(row.event(kind) for row in file.event) for kind in kinds},
        usual={row.name: row.figures() for row in file.kind},
        behind=tuple(Behind(row.symptom, row.event, row.figure, row.better) for row in file.behind),
        felt=FeltLimits(
            travel=felt.travel_mm * MILLIMETRE,
            time=felt.time_s,
            velocity=felt.velocity_m_s,
            acceleration=felt.acceleration_g * STANDARD_GRAVITY,
            tyre_load=felt.tyre_load_percent / 100,
            end_force=felt.end_force_percent / 100,
        ),
    )


def rides_of(shop: Path) -> RideTable:
    """The table of a shop: its own ``rides.toml`` where it has one, over the one of the program."""
    own = shop / SHOPS_OWN
    return read_rides(own if own.exists() else OUR_OWN)
