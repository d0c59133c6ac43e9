"""Rows of a log: figures under one header, with nothing where the logger has none."""

from __future__ import annotations

from array import array
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from optimiser.errors import InputError
from optimiser.files.instruments.instrument_text import COMMENTS, InstrumentText, shown_line
from optimiser.files.ride_log.log_columns import LogColumn, refuse_without_units, unit_spelled
from optimiser.ride_log.trace import Flags, Floats

MOST_ROWS: Final = 1_000_000
"""In one file."""

LONGEST_WORDS: Final = 300
"""Of a header that are looked at. [characters]"""

NOTHING: Final = frozenset({"", "-", "--", "---", "nan", "n/a", "na", "null", "none", "#n/a", "inf", "-inf"})
"""What loggers write where they have no figure."""

Read = Callable[[Sequence[str], Sequence[str], str], list[LogColumn | None]]
"""Columns of a header line, with a line of units below it, at a place."""


@dataclass(slots=True)
class LogRows:
    """Figures of the columns that are read.

    Parameters
    ----------
    columns : those that are read.
    figures : as the file has them, nan for nothing (columns, rows).
    unread : columns that are not read.
    notes : what was left out.
    """

    columns: tuple[LogColumn, ...]
    figures: Floats
    unread: int
    notes: tuple[str, ...]

    def only(self, kept: Flags) -> LogRows:
        """The rows that are kept."""
        return LogRows(self.columns, self.figures[:, kept], self.unread, self.notes)


@dataclass(slots=True)
class _Reading:
    text: InstrumentText
    read: Read
    header: list[str] | None = None
    columns: list[LogColumn | None] = field(default_factory=list)
    flat: array[float] = field(default_factory=lambda: array("d"))
    rows: int = 0
    words: int = 0
    cut: bool = False

    def line(self, line: str, number: int) -> None:
        place = f"{self.text.name}:{number}"
        cells = self.text.cells(line)
        last = number == len(self.text.lines) and not self.text.whole
        if self.header is not None and self.looks_like_a_row(cells):
            if last and self.rows:
                # What is left of the last row may be the beginning of a longer figure.
                self.cut = True
            else:
                self.row(cells, place)
        elif not self.begins(cells, place):
            if self.header is None and self.text.looks_numeric(cells):
                raise InputError(
                    f"{place}: got figures before any header that names a wheel's travel, expected a line "
                    "like 'time (s), front travel (mm), rear travel (mm)'. Add it, or name the columns: "
                    '--column "rear=HEADER:mm".'
                )
            if last:
                self.cut = True
            elif self.rows and len(cells) >= len(self.columns):
                raise InputError(
                    f"{place}: got {shown_line(self.text, number)}, expected figures like the lines above. "
                    "Mend or delete the line."
                )
            else:
                self.words += 1

    def looks_like_a_row(self, cells: Sequence[str]) -> bool:
        """Whether a line has a figure, and otherwise figures or nothing, in the columns that are read."""
        own = [cell for cell, column in zip(cells, self.columns, strict=False) if column is not None]
        figures = [cell for cell in own if cell.lower() not in NOTHING]
        return any(cell[:1].isdigit() or cell[:1] in "+-.," for cell in figures)

    def begins(self, cells: list[str], place: str) -> bool:
        """Take a line for a header or for the units below it, if it is one."""
        if self.header is not None and not self.rows and self.is_units(cells):
            self.columns = self.read(self.header, cells, place)
            return True
        columns = self.read([cell[:LONGEST_WORDS] for cell in cells], (), place)
        if not any(column is not None and column.corner for column in columns):
            return False
        if self.header is not None and self.rows and columns != self.columns:
            raise InputError(
                f"{place}: got a second header with other columns, expected one run a file. Part the file."
            )
        self.header, self.columns = cells, columns
        return True

    def is_units(self, cells: Sequence[str]) -> bool:
        units = [
            unit_spelled(cell.strip("[]()"), time=not column.corner)
            for cell, column in zip(cells, self.columns, strict=False)
            if column is not None and cell
        ]
        return bool(units) and all(unit is not None for unit in units)

    def row(self, cells: list[str], place: str) -> None:
        while len(cells) > len(self.columns) and not cells[-1]:
            cells.pop()
        if len(cells) != len(self.columns):
            decimal = (
                " A decimal comma parts a number in two: write a point, or part cells by semicolons."
                if self.text.delimiter == ","
                else ""
            )
            raise InputError(
                f"{place}: got {len(cells)} cells, expected {len(self.columns)} as in the header.{decimal}"
            )
        if not self.rows:
            refuse_without_units(self.columns, place)
        if self.rows >= MOST_ROWS:
            raise InputError(
                f"{place}: got more than {MOST_ROWS} rows, expected fewer. Export less of the run."
            )
        self.flat.extend(
            self.figure(cell, column, place)
            for cell, column in zip(cells, self.columns, strict=True)
            if column is not None
        )
        self.rows += 1

    def figure(self, cell: str, column: LogColumn, place: str) -> float:
        try:
            value = self.text.number(cell)
        except InputError as error:
            raise InputError(f"{place}: {column.header[:40]}: {error}") from None
        if value is None and cell.lower() not in NOTHING:
            raise InputError(
                f"{place}: got {cell[:40]!r} in the column {column.header[:40]!r}, expected a number or an "
                "empty cell. Mend or delete the line."
            )
        return float("nan") if value is None else value


def rows_of(text: InstrumentText, read: Read) -> LogRows:
    """Read the rows of a log.

    Parameters
    ----------
    text : of the file.
    read : tells what the columns of a header line are.

    Raises
    ------
    InputError
        Naming file and line, what was got, what was expected and the way out.
    """
    reading = _Reading(text, read)
    for number, line in enumerate(text.lines, 1):
        stripped = line.strip()
        if stripped.strip(text.delimiter + ' "') and not stripped.startswith(COMMENTS):
            reading.line(line, number)
    if not reading.rows:
        raise InputError(
            f"{text.name}: got no rows under a header that names a wheel's travel, expected some, as under "
            "'time (s), front travel (mm), rear travel (mm)'. Name the columns: --column \"rear=HEADER:mm\"."
        )
    columns = tuple(column for column in reading.columns if column is not None)
    notes = []
    if reading.words:
        notes.append(f"{reading.words} lines of words are not read.")
    if reading.cut:
        notes.append("The last line breaks off and is left out.")
    return LogRows(
        columns=columns,
        figures=np.array(reading.flat).reshape(reading.rows, len(columns)).T,
        unread=len(reading.columns) - len(columns),
        notes=tuple(notes),
    )
