"""What the columns of a log are: time, or the travel of a wheel, measured there or at the shaft."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from damping_model.units import LENGTH_UNITS, MILLIMETRE, TIME_UNITS
from optimiser.errors import InputError
from optimiser.files.instruments.header_words import plain_header, unit_among, words_of
from optimiser.intake.quantities import LENGTH, read
from optimiser.ride_log.trace import Floats, Place

PERCENT: Final = "%"
_PERCENTS: Final = frozenset({"%", "percent", "pct"})

VOLTAGES: Final = frozenset({"v", "mv", "volt", "volts", "counts", "adc", "raw"})
"""Units of readings that only a calibration makes travel of."""

_TIME: Final = frozenset({"time", "t", "elapsed", "timestamp", "seconds", "secs"})
_FRONT: Final = frozenset({"front", "fork", "fr"})
_REAR: Final = frozenset({"rear", "shock", "back", "rr"})
_SIDES: Final = frozenset({"left", "right"})
_AT_SHAFT: Final = frozenset({"fork", "shock", "shaft", "damper"})
_TRAVEL: Final = (
    frozenset({"travel", "position", "pos", "displacement", "disp", "stroke", "suspension", "susp", "pot"})
    | _AT_SHAFT
)
_NO_TRAVEL: Final = frozenset(
    [
        "speed",
        "velocity",
        "vel",
        "force",
        "load",
        "pressure",
        "acceleration",
        "accel",
        "acc",
        "temperature",
        "temp",
        "brake",
    ]
)
"""Common English words of headers; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """Two readings and the travel at each.

    Parameters
    ----------
    readings : in the column's own unit.
    travels : [m]
    """

    readings: tuple[float, float]
    travels: tuple[float, float]

    def __post_init__(self) -> None:
        """Refuse readings or travels that are one."""
        for what, pair in (("readings", self.readings), ("travels", self.travels)):
            if not (np.isfinite(pair).all() and pair[0] != pair[1]):
                raise InputError(f"got a calibration with {what} {pair[0]:g} and {pair[1]:g}, expected two.")

    def travel(self, readings: Floats) -> Floats:
        """Travel at readings. [m]"""
        slope = (self.travels[1] - self.travels[0]) / (self.readings[1] - self.readings[0])
        return self.travels[0] + slope * (readings - self.readings[0])


@dataclass(frozen=True, slots=True)
class LogColumn:
    """A column that is read.

    Parameters
    ----------
    header : as the file has it.
    corner : whose travel it is; empty for time.
    at : where that was measured.
    unit : of time or length, per cent, or of a reading with a calibration; empty where nobody says.
    calibration : that makes travel of readings.
    guessed : whether only the words of the header say so.
    """

    header: str
    corner: str
    at: Place = "wheel"
    unit: str = ""
    calibration: Calibration | None = None
    guessed: bool = False

    @property
    def holds(self) -> str:
        """What it is, in words."""
        return f"{self.corner} {self.at} travel" if self.corner else "time"

    def figures(self, figures: Floats, *, end: float | None) -> Floats:
        """Figures in SI.

        Parameters
        ----------
        figures : as the file has them.
        end : all of the travel where it is measured; None where no machine is named. [m]
        """
        if self.calibration is not None:
            return self.calibration.travel(figures)
        if self.unit == PERCENT and end is not None:
            return figures / 100 * end
        return (LENGTH_UNITS if self.corner else TIME_UNITS)[self.unit] * figures


def unit_spelled(text: str, *, time: bool) -> str | None:
    """The unit that a text is, of time or of travel; None when it is none.

    Examples
    --------
    >>> unit_spelled("Percent", time=False), unit_spelled("ms", time=True), unit_spelled("bar", time=False)
    ('%', 'ms', None)
    """
    if time:
        return unit_among(text, TIME_UNITS)
    if unit_among(text, _PERCENTS) is not None:
        return PERCENT
    return unit_among(text, LENGTH_UNITS) or unit_among(text, VOLTAGES)


def guessed(header: str) -> LogColumn | None:
    """What a header's words say; None for words that say nothing.

    Examples
    --------
    >>> guessed("Front Left Travel (mm)").holds, guessed("shock_pos_mm").holds, guessed("Brake pressure")
    ('front left wheel travel', 'rear shaft travel', None)
    """
    taken_apart = words_of(header)
    words = set(taken_apart.words)
    if words & _NO_TRAVEL:
        return None
    is_time = bool(words & _TIME)
    front, rear = words & _FRONT, words & _REAR
    if not is_time and (not words & _TRAVEL or bool(front) == bool(rear)):
        return None
    unit = next((u for text in taken_apart.may_be_units if (u := unit_spelled(text, time=is_time))), "")
    if is_time:
        return LogColumn(header, "", unit=unit, guessed=True)
    sides = [word for word in taken_apart.words if word in _SIDES]
    corner = " ".join(["front" if front else "rear", *sides])
    return LogColumn(header, corner, "shaft" if words & _AT_SHAFT else "wheel", unit, guessed=True)


def columns_of(
    headers: Sequence[str], *, known: Sequence[LogColumn], units_row: Sequence[str] = (), place: str
) -> list[LogColumn | None]:
    """What each column of a header line is; None for those that are not read.

    Parameters
    ----------
    headers : of the line.
    known : columns that a person or a logger's file names; they go before any guess.
    units_row : units from a line of their own below the header.
    place : file and line, for messages.

    Raises
    ------
    InputError
        When two columns are one thing.
    """
    named = {plain_header(one.header): one for one in reversed(known)}
    there = {plain_header(header) for header in headers}
    taken = {one.corner for one in known if plain_header(one.header) in there}
    found: list[LogColumn | None] = []
    for number, header in enumerate(headers):
        column = named.get(plain_header(header)) or guessed(header)
        if column is not None and column.guessed and column.corner in taken:
            column = None
        if column is not None and not column.unit and number < len(units_row):
            unit = unit_spelled(units_row[number].strip("[]()"), time=not column.corner)
            column = replace(column, unit=unit or "")
        found.append(column)
    for corner in {one.corner for one in found if one is not None}:
        own = [one for one in found if one is not None and one.corner == corner]
        if len(own) > 1:
            names = " and ".join(repr(one.header[:40]) for one in own[:3])
            raise InputError(
                f"{place}: the columns {names} both look like {own[0].holds}, expected one. "
                f'Say which: --column "{corner or "time"}=HEADER:UNIT".'
            )
    return found


def refuse_without_units(columns: Sequence[LogColumn | None], place: str) -> None:
    """Refuse columns whose unit nobody says, and readings without a calibration.

    Raises
    ------
    InputError
        Naming the column and how to say it.
    """
    for column in columns:
        if column is None or column.calibration is not None:
            continue
        name = (column.corner + (" shaft" if column.at == "shaft" else "")) or "time"
        if not column.unit:
            units = ", ".join(TIME_UNITS if not column.corner else [*LENGTH_UNITS, PERCENT, "V"])
            raise InputError(
                f"{place}: the column {column.header[:40]!r} has no unit, expected one of {units}. "
                f'Say it: --column "{name}={column.header[:40]}:UNIT".'
            )
        if column.unit in VOLTAGES:
            raise InputError(
                f"{place}: the column {column.header[:40]!r} holds readings in {column.unit}, expected "
                "travel or a calibration. Say two readings: --calibrate "
                f'"{column.corner}=0.5:0 mm, 4.5:140 mm".'
            )


def with_calibration(column: LogColumn, text: str) -> LogColumn:
    """A column with a calibration as typed: ``0.52:0 mm, 4.21:140 mm``.

    Raises
    ------
    InputError
        When it is no such thing.
    """
    pairs = [part.partition(":") for part in text.split(",")]
    try:
        readings = [float(reading) for reading, _, _ in pairs]
        travels = [MILLIMETRE * read(travel.strip(), LENGTH) for _, _, travel in pairs]
        first, second = readings
        one, two = travels
    except (ValueError, InputError):
        raise InputError(
            f"got the calibration {text[:60]!r}, expected two readings, each with its travel, as in "
            "'0.52:0 mm, 4.21:140 mm'."
        ) from None
    return replace(column, calibration=Calibration((first, second), (one, two)))
