"""Logs of rides read: columns found, figures in SI, one trace a wheel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np

from optimiser.errors import InputError
from optimiser.files.instruments.header_words import plain_header
from optimiser.files.instruments.instrument_text import instrument_text
from optimiser.files.ride_log.log_columns import (
    PERCENT,
    LogColumn,
    columns_of,
    with_calibration,
)
from optimiser.files.ride_log.log_rows import LogRows, rows_of
from optimiser.files.ride_log.logger_file import logger_named, loggers_of
from optimiser.intake.machine import Corner, Machine
from optimiser.ride_log.trace import Floats, Trace

LARGEST: Final = 20_000_000
"""A quarter of an hour of two fast channels, read in some seconds. [bytes]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidOfLog:
    """What a person says of a log, which goes before what stands in it.

    Parameters
    ----------
    columns : by their headers.
    calibrations : as typed, by corner.
    logger : whose columns they are; None to recognise one.
    """

    columns: tuple[LogColumn, ...] = ()
    calibrations: Mapping[str, str] = field(default_factory=dict)
    logger: str | None = None


NOTHING_SAID: Final = SaidOfLog()


@dataclass(frozen=True, slots=True, kw_only=True)
class RideLog:
    """A log.

    Parameters
    ----------
    traces : one a wheel, in the order of the columns.
    corners : of the machine, in the same order; None where no machine is named.
    columns : that were read, to be remembered.
    notes : what was derived of the columns.
    """

    traces: tuple[Trace, ...]
    corners: tuple[Corner | None, ...]
    columns: tuple[LogColumn, ...]
    notes: tuple[str, ...]


def read_log(path: Path, *, machine: Machine | None = None, said: SaidOfLog = NOTHING_SAID) -> RideLog:
    """Read a log.

    Parameters
    ----------
    path : of the file.
    machine : that was ridden; None when nobody says.
    said : of the columns.

    Raises
    ------
    InputError
        Naming file, line and column, what was got, what was expected and the way out.
    """
    text = instrument_text(path, what="ride log", largest=LARGEST)
    read = _LogHeaders(path, said)
    rows = rows_of(text, read)
    time = _time(rows)
    if time is not None:
        # A row without a time belongs nowhere.
        rows = rows.only(np.isfinite(time))
        time = time[np.isfinite(time)]
    traces, corners = [], []
    for column, figures in zip(rows.columns, rows.figures, strict=True):
        if not column.corner:
            continue
        corner = None if machine is None else _corner(machine, column, path)
        end = None if corner is None else _end(corner, column)
        if end is None and column.calibration is None and column.unit == PERCENT:
            raise InputError(
                f"{path}: the column {column.header[:40]!r} is in per cent of the travel, expected to be "
                "told of how much. Name the machine with --bike or --job."
            )
        travel = column.figures(figures, end=end)
        name = column.corner if corner is None else corner.name
        traces.append(Trace(corner=name, source=str(path), time=time, travel=travel, at=column.at))
        corners.append(corner)
    return RideLog(
        traces=tuple(traces),
        corners=tuple(corners),
        columns=rows.columns,
        notes=tuple(_notes(path, read, rows)),
    )


class _LogHeaders:
    """Columns of header lines of one file, and by what they were found."""

    def __init__(self, path: Path, said: SaidOfLog) -> None:
        self.said = said
        self.named = None if said.logger is None else logger_named(path, said.logger)
        self.name = said.logger
        self.loggers = () if said.logger is not None else tuple(loggers_of(path))

    def __call__(
        self, headers: Sequence[str], units_row: Sequence[str], place: str
    ) -> list[LogColumn | None]:
        """Columns of a header line."""
        logger = self.named or self._recognised(headers)
        found = columns_of(headers, known=(*self.said.columns, *logger), units_row=units_row, place=place)
        return [self._calibrated(column) for column in found]

    def _calibrated(self, column: LogColumn | None) -> LogColumn | None:
        text = None if column is None else self.said.calibrations.get(column.corner)
        return column if column is None or text is None else with_calibration(column, text)

    def _recognised(self, headers: Sequence[str]) -> tuple[LogColumn, ...]:
        there = {plain_header(header) for header in headers}
        fitting = [one for one in self.loggers if {plain_header(column.header) for column in one[1]} <= there]
        if not fitting:
            return ()
        self.name, columns = max(fitting, key=lambda one: len(one[1]))
        return columns


def _time(rows: LogRows) -> Floats | None:
    for column, figures in zip(rows.columns, rows.figures, strict=True):
        if not column.corner:
            return column.figures(figures, end=None)
    return None


def _corner(machine: Machine, column: LogColumn, path: Path) -> Corner:
    """The corner that a column is about, by its name or by its end."""
    own = [one for one in machine.corners if one.name.lower() == column.corner.lower()]
    own = own or [one for one in machine.corners if one.end.lower() == column.corner.lower()]
    if len(own) != 1:
        names = ", ".join(one.name for one in machine.corners)
        raise InputError(
            f"{path}: got the column {column.header[:40]!r} of '{column.corner}', expected one corner of "
            f'{machine.name}: {names}. Say which: --column "CORNER={column.header[:40]}:UNIT".'
        )
    return own[0]


def _end(corner: Corner, column: LogColumn) -> float:
    curve = corner.leverage
    return curve.shaft_travel_end if column.at == "shaft" else curve.wheel_travel_end


def _notes(path: Path, read: _LogHeaders, rows: LogRows) -> Iterator[str]:
    words = ", ".join(
        f"'{one.header}' is {one.holds}" + (f" in {one.unit}" if one.unit else "") for one in rows.columns
    )
    by = "guessed from their words" if any(one.guessed for one in rows.columns) else "as you say"
    if read.name is not None and not any(one.guessed for one in rows.columns):
        by = f"as remembered of the logger '{read.name}'"
    yield f"{path.name}: columns {by}: {words}." + (
        f" {rows.unread} more are not read." if rows.unread else ""
    )
    yield from (f"{path.name}: {note}" for note in rows.notes)
