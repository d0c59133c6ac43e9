"""What the columns of a machine are, and their units: as a person says, as remembered, or by their words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.units import (
    FORCE_UNITS,
    LENGTH_UNITS,
    PRESSURE_UNITS,
    TIME_UNITS,
    VELOCITY_UNITS,
    kelvin,
)
from optimiser.errors import InputError
from optimiser.files.instruments.header_words import plain_header, unit_among, words_of

Floats = NDArray[np.float64]


class ColumnRole(StrEnum):
    """What a column holds."""

    TIME = "time"
    DISPLACEMENT = "displacement"
    VELOCITY = "velocity"
    FORCE = "force"
    COMPRESSION_FORCE = "compression force"
    REBOUND_FORCE = "rebound force"
    TEMPERATURE = "temperature"
    GAS_PRESSURE = "gas pressure"
    STROKE = "stroke"
    RUN = "run"
    CLICKS = "clicks"


UNITS: Final[Mapping[ColumnRole, Mapping[str, float]]] = {
    ColumnRole.TIME: TIME_UNITS,
    ColumnRole.DISPLACEMENT: LENGTH_UNITS,
    ColumnRole.VELOCITY: VELOCITY_UNITS,
    ColumnRole.FORCE: FORCE_UNITS,
    ColumnRole.COMPRESSION_FORCE: FORCE_UNITS,
    ColumnRole.REBOUND_FORCE: FORCE_UNITS,
    ColumnRole.GAS_PRESSURE: PRESSURE_UNITS,
    ColumnRole.STROKE: LENGTH_UNITS,
}
"""Units with their sizes, for roles that are a number times a size. [SI]"""

TEMPERATURES: Final[Mapping[str, tuple[float, float]]] = {
    "c": (1.0, kelvin(celsius=0)),
    "f": (1 / 1.8, kelvin(celsius=-32 / 1.8)),
    "k": (1.0, 0.0),
}
"""Scales of temperature: the size of a degree and the zero. [K]"""

_SCALES: Final = {"celsius": "c", "fahrenheit": "f", "kelvin": "k"}

NEED_NO_UNIT: Final = frozenset({ColumnRole.RUN, ColumnRole.CLICKS})

ONCE: Final = frozenset(ColumnRole) - {ColumnRole.CLICKS}
"""Roles that one column alone may have."""

_COMPRESSION: Final = frozenset({"compression", "comp", "compr", "bump", "jounce"})
_REBOUND: Final = frozenset({"rebound", "reb", "rbd", "droop"})
_FORCE: Final = frozenset({"force", "forces", "load", "loadcell"})
_PLAIN: Final = (
    (ColumnRole.CLICKS, frozenset({"clicks", "click", "clicker"})),
    (ColumnRole.TEMPERATURE, frozenset({"temperature", "temp", "temps"})),
    (ColumnRole.GAS_PRESSURE, frozenset({"pressure", "gas"})),
    (ColumnRole.VELOCITY, frozenset({"velocity", "vel", "speed", "v"})),
    (ColumnRole.DISPLACEMENT, frozenset({"displacement", "disp", "position", "pos", "travel", "x"})),
    (ColumnRole.STROKE, frozenset({"stroke"})),
    (ColumnRole.TIME, frozenset({"time", "t", "elapsed", "timestamp"})),
    (ColumnRole.RUN, frozenset({"run", "test", "pass"})),
    (ColumnRole.FORCE, frozenset({"f", "cell"})),
)
"""Common English words of headers; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column that is read.

    Parameters
    ----------
    header : as the file has it.
    role : what it holds.
    unit : as :data:`UNITS` spells it; empty where it has none.
    adjuster : which clicker, for clicks.
    guessed : whether only the words of the header say so.
    """

    header: str
    role: ColumnRole
    unit: str
    adjuster: str = ""
    guessed: bool = False

    def to_si(self, figures: Floats) -> Floats:
        """The column's figures in SI; those of run and clicks as they are."""
        if self.role in NEED_NO_UNIT:
            return figures
        if self.role is ColumnRole.TEMPERATURE:
            degree, zero = TEMPERATURES[self.unit]
            return degree * figures + zero
        return UNITS[self.role][self.unit] * figures


def unit_of(text: str, role: ColumnRole) -> str | None:
    """The unit that a text is, for a role; None when it is none of its units."""
    if role is ColumnRole.TEMPERATURE:
        scales = {**{scale: scale for scale in TEMPERATURES}, **_SCALES}
        word = unit_among(text, scales)
        return None if word is None else scales[word]
    return unit_among(text, UNITS.get(role, ()))


def guessed(header: str) -> Column | None:
    """What a header's words say; None for words that say nothing.

    Examples
    --------
    >>> velocity = guessed("Peak Velocity (mm/s)")
    >>> velocity.role.value, velocity.unit, guessed("force_lbf").unit
    ('velocity', 'mm/s', 'lbf')
    """
    header_words = words_of(header)
    role = _role(set(header_words.words))
    if role is None:
        return None
    adjuster = ""
    if role is ColumnRole.CLICKS:
        kept = [word for word in header_words.words if word not in {"clicks", "click", "clicker", "out"}]
        adjuster = " ".join(kept)
    for text in header_words.may_be_units:
        if unit := unit_of(text, role):
            return Column(header, role, unit, adjuster, guessed=True)
    return Column(header, role, "", adjuster, guessed=True)


def _role(words: set[str]) -> ColumnRole | None:
    if words & {"click", "clicks", "clicker"}:
        return ColumnRole.CLICKS
    strokes = bool(words & _COMPRESSION), bool(words & _REBOUND)
    if words & _FORCE or not words - _COMPRESSION - _REBOUND - {"n", "lbf", "kgf", "kn", "lb", "peak", "max"}:
        if strokes == (True, False):
            return ColumnRole.COMPRESSION_FORCE
        if strokes == (False, True):
            return ColumnRole.REBOUND_FORCE
        return ColumnRole.FORCE if words & _FORCE else None
    return next((role for role, known in _PLAIN if words & known), None)


def columns_of(
    headers: Sequence[str], *, known: Sequence[Column], units_row: Sequence[str] = (), place: str
) -> list[Column | None]:
    """What each column of a header line is; None for those that are not read.

    Parameters
    ----------
    headers : of the line.
    known : columns that a person or a machine's file names, by their headers; they go before any guess.
    units_row : units from a line of their own below the header.
    place : file and line, for messages.

    Raises
    ------
    InputError
        When two columns are one thing, or a unit is missing.
    """
    named = {plain_header(one.header): one for one in reversed(known)}
    taken = {one.role for one in known if plain_header(one.header) in set(map(plain_header, headers))}
    found: list[Column | None] = []
    for number, header in enumerate(headers):
        column = named.get(plain_header(header)) or guessed(header)
        if column is not None and column.guessed and column.role in taken & ONCE:
            column = None
        if column is not None and not column.unit and number < len(units_row):
            unit = unit_of(units_row[number].strip("[]()"), column.role)
            column = Column(header, column.role, unit or "", column.adjuster, column.guessed)
        found.append(column)
    _refuse_twice(found, place)
    return found


def refuse_without_units(columns: Sequence[Column | None], place: str) -> None:
    """Refuse columns whose unit nobody says.

    Raises
    ------
    InputError
        Naming the column and how to say it.
    """
    for column in columns:
        if column is not None and not column.unit and column.role not in NEED_NO_UNIT:
            units = ", ".join(TEMPERATURES if column.role is ColumnRole.TEMPERATURE else UNITS[column.role])
            raise InputError(
                f"{place}: the column {column.header[:40]!r} has no unit, expected one of {units}. "
                f'Say it: --column "{column.role.value}={column.header[:40]}:UNIT".'
            )


def _refuse_twice(found: Sequence[Column | None], place: str) -> None:
    for role in ONCE:
        own = [one for one in found if one is not None and one.role is role]
        if len(own) > 1:
            names = " and ".join(repr(one.header[:40]) for one in own[:3])
            raise InputError(
                f"{place}: the columns {names} both look like {role.value}, expected one. "
                f'Say which: --column "{role.value}=HEADER:UNIT".'
            )


def is_header(columns: Sequence[Column | None]) -> bool:
    """Whether a line names enough to be a header: a force, and what it goes with."""
    roles = {one.role for one in columns if one is not None}
    forces = {ColumnRole.FORCE, ColumnRole.COMPRESSION_FORCE, ColumnRole.REBOUND_FORCE}
    places = {ColumnRole.TIME, ColumnRole.DISPLACEMENT, ColumnRole.VELOCITY}
    return bool(roles & forces and roles & places)
