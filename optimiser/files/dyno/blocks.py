"""A file parted into blocks of rows, each with its header and the words in front of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from optimiser.errors import InputError
from optimiser.files.dyno.columns import Column, is_header, refuse_without_units, unit_of
from optimiser.files.dyno.facts import NO_FACTS, Facts, key_and_value, with_fact
from optimiser.files.instruments.instrument_text import COMMENTS, InstrumentText, shown_line

MOST_ROWS: Final = 1_000_000
"""In one file."""

LONGEST_WORDS: Final = 300
"""Of a line of words or a header that are looked at. [characters]"""

Read = Callable[[Sequence[str], Sequence[str], str], list[Column | None]]
"""Columns of a header line, with a line of units below it, at a place."""


@dataclass(slots=True)
class Block:
    """Rows under one header, without a blank line or words between them.

    Parameters
    ----------
    columns : what each is; None for one that is not read.
    facts : from the words in front.
    fresh : whether words or a header stood in front of it, so that it is a run of its own.
    lines : of every row.
    rows : figures of the columns that are read, in their own units; text of a run's name is in ``texts``.
    texts : cells of columns that hold names, row by row.
    cut : whether the last line of the file broke off and was left out.
    """

    columns: list[Column | None]
    facts: Facts
    fresh: bool
    lines: list[int] = field(default_factory=list)
    rows: list[list[float]] = field(default_factory=list)
    texts: list[list[str]] = field(default_factory=list)
    cut: bool = False


@dataclass(slots=True)
class Blocks:
    """What was read of a file.

    Parameters
    ----------
    blocks : in order.
    ignored : lines of words that say nothing here.
    """

    blocks: list[Block]
    ignored: int = 0


class _BlockReader:
    """Goes through a file line by line."""

    def __init__(self, text: InstrumentText, read: Read) -> None:
        self.text, self.read = text, read
        self.found = Blocks([])
        self.header: list[str] | None = None
        self.columns: list[Column | None] = []
        self.facts, self.fresh, self.open = NO_FACTS, True, False
        self.units_may_follow = False
        self.count, self.decimals = 0, 99

    def place(self, number: int) -> str:
        return f"{self.text.name}:{number}"

    def whole(self) -> Blocks:
        for number, line in enumerate(self.text.lines, 1):
            stripped = line.strip()
            if not stripped.strip(self.text.delimiter + ' "'):
                self.open = False
            elif stripped.startswith(COMMENTS):
                self.words(stripped.lstrip("#%/! "), number)
            else:
                self.line(line, number)
        return self.found

    def line(self, line: str, number: int) -> None:
        cells = self.text.cells(line)
        if self.text.looks_numeric(cells):
            self.row(cells, number)
        elif self.header is not None and self.units_may_follow and self.is_units(cells):
            self.columns = self.read(self.header, cells, self.place(number))
            self.units_may_follow = False
        elif not self.begins(cells, number):
            if number == len(self.text.lines) and self.open and not self.text.whole:
                self.found.blocks[-1].cut = True
            elif len(used := [cell for cell in cells if cell]) == 2 and key_and_value(
                f"{used[0]}: {used[1]}"
            ):
                self.words(f"{used[0]}: {used[1]}", number)
            elif self.open and len(cells) >= len(self.columns):
                raise InputError(
                    f"{self.place(number)}: got {shown_line(self.text, number)}, expected figures like the "
                    "lines above. Mend or delete the line."
                )
            else:
                self.words(line, number)

    def words(self, words: str, number: int) -> None:
        words = words[:LONGEST_WORDS]
        cells = self.text.cells(words)
        if len(cells) > 1 and self.begins(cells, number):
            return
        pair = key_and_value(words.strip().rstrip(self.text.delimiter))
        told = None if pair is None else with_fact(self.facts, *pair, place=self.place(number))
        if told is None or told is self.facts:
            self.found.ignored += 1
        else:
            # Words behind rows belong to the run that follows.
            self.facts, self.open, self.fresh = told, False, True

    def begins(self, cells: list[str], number: int) -> bool:
        """Take a line for a header, if it is one."""
        if sum(bool(cell) for cell in cells) < 2:
            return False
        columns = self.read([cell[:LONGEST_WORDS] for cell in cells], (), self.place(number))
        if not is_header(columns):
            return False
        self.header, self.columns = cells, columns
        self.open, self.fresh, self.units_may_follow = False, True, True
        return True

    def is_units(self, cells: Sequence[str]) -> bool:
        known = [
            unit_of(cell.strip("[]()"), column.role)
            for cell, column in zip(cells, self.columns, strict=False)
            if column is not None and cell
        ]
        return bool(known) and all(unit is not None for unit in known)

    def row(self, cells: list[str], number: int) -> None:
        place = self.place(number)
        if self.header is None:
            raise InputError(
                f"{place}: got figures before any header, expected a line that names the columns, as 'time "
                "(s), displacement (mm), force (N)' or 'velocity (m/s), force (N)'. Add it, or name the "
                'columns of this machine: --column "force=HEADER:UNIT".'
            )
        last = number == len(self.text.lines) and not self.text.whole
        while len(cells) > len(self.columns) and not cells[-1]:
            cells.pop()
        if len(cells) != len(self.columns):
            if last and len(cells) < len(self.columns) and self.open:
                self.found.blocks[-1].cut = True
                return
            decimal = (
                " A decimal comma parts a number in two: write a point, or part cells by semicolons."
                if self.text.delimiter == ","
                else ""
            )
            raise InputError(
                f"{place}: got {len(cells)} cells, expected {len(self.columns)} as in the header.{decimal}"
            )
        decimals = len(cells[-1].partition(self.text.decimal)[2])
        if last and self.open and decimals < self.decimals:
            # Every figure above has more decimals: this one is what is left of a longer one.
            self.found.blocks[-1].cut = True
            return
        self.decimals = min(self.decimals, decimals)
        if not self.open:
            refuse_without_units(self.columns, place)
            self.found.blocks.append(Block(list(self.columns), self.facts, self.fresh))
            self.facts = replace(self.facts, name=None, notes=())
            self.open, self.fresh = True, False
        self.units_may_follow = False
        self.count += 1
        if self.count > MOST_ROWS:
            raise InputError(
                f"{place}: got more than {MOST_ROWS} rows, expected fewer. Export less of the run."
            )
        self._add(cells, number, place)

    def _add(self, cells: list[str], number: int, place: str) -> None:
        figures, texts = [], []
        for cell, column in zip(cells, self.columns, strict=True):
            if column is None:
                continue
            try:
                value = self.text.number(cell)
            except InputError as error:
                raise InputError(f"{place}: {column.header[:40]}: {error}") from None
            if column.role.value == "run":
                texts.append(cell[:60])
                value = 0.0
            if value is None:
                raise InputError(
                    f"{place}: got {cell[:40]!r} in the column {column.header[:40]!r}, expected a number. "
                    "Mend or delete the line."
                )
            figures.append(value)
        block = self.found.blocks[-1]
        block.lines.append(number)
        block.rows.append(figures)
        block.texts.append(texts)


def blocks_of(text: InstrumentText, read: Read) -> Blocks:
    """Part a file into blocks.

    Parameters
    ----------
    text : of the file.
    read : tells what the columns of a header line are.

    Raises
    ------
    InputError
        Naming file and line, what was got, what was expected and the way out.
    """
    found = _BlockReader(text, read).whole()
    if not found.blocks:
        raise InputError(
            f"{text.name}: got no rows under a header that names a force and a time, displacement or "
            "velocity; "
            'expected some. Name the columns: --column "force=HEADER:UNIT".'
        )
    return found


def used(columns: Sequence[Column | None]) -> Iterator[Column]:
    """Those that are read."""
    yield from (column for column in columns if column is not None)
