"""Text of an instrument: which bytes it is in, what parts its cells, and how it writes its numbers."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from optimiser.errors import InputError
from optimiser.files.base import clipped
from optimiser.files.csv_lines import BYTE_ORDER_MARKS
from optimiser.files.reading import read_bytes

LARGEST: Final = 10_000_000
"""Some minutes of a fast recorder, read in some seconds. [bytes]"""

MOST_CELLS: Final = 60
"""Columns that any instrument writes."""

LOOKED_AT: Final = 400
"""Lines that tell what parts cells and how numbers are written."""

COMMENTS: Final = ("#", "%", "//", "!")
"""How a line of words begins."""

_POINT: Final = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?")
_COMMA: Final = re.compile(r"[+-]?(?:\d+(?:,\d*)?|,\d+)(?:[eE][+-]?\d+)?")
_PLAIN: Final = {".": _POINT, ",": _COMMA}
_GROUPED: Final = {
    ".": re.compile(r"[+-]?\d{1,3}(?:,\d{3})+\.\d+"),
    ",": re.compile(r"[+-]?\d{1,3}(?:\.\d{3})+,\d+"),
}


@dataclass(frozen=True, slots=True)
class InstrumentText:
    """Lines of a file, parted into cells.

    Parameters
    ----------
    name : of the file, for messages.
    lines : without their ends.
    delimiter : between cells; a blank stands for any run of blanks.
    decimal : mark in numbers.
    whole : whether the last line has an end.
    """

    name: str
    lines: tuple[str, ...]
    delimiter: str
    decimal: Literal[".", ","]
    whole: bool

    def cells(self, line: str) -> list[str]:
        """Cells of a line, stripped."""
        return _parted(line, self.delimiter)

    def number(self, cell: str) -> float | None:
        """The number in a cell; None for words."""
        own, other = (_POINT, _COMMA) if self.decimal == "." else (_COMMA, _POINT)
        if own.fullmatch(cell):
            value = float(cell.replace(",", "."))
            return value if abs(value) < 1e30 else None
        if _GROUPED[self.decimal].fullmatch(cell):
            group = "," if self.decimal == "." else "."
            return float(cell.replace(group, "").replace(",", "."))
        if other.fullmatch(cell):
            raise InputError(
                f"got the number {cell!r}, expected the decimal mark {self.decimal!r} that the file has "
                "elsewhere. Write all numbers of the file alike."
            )
        return None

    def looks_numeric(self, cells: Sequence[str]) -> bool:
        """Whether a line holds figures: two cells or more are numbers."""
        return sum(_is_number(cell, comma=True) for cell in cells) >= 2


def instrument_text(path: Path, *, what: str = "dyno run", largest: int = LARGEST) -> InstrumentText:
    """Read a file that an instrument wrote.

    Parameters
    ----------
    path : of the file.
    what : it should hold, for messages.
    largest : most that is read. [bytes]

    Raises
    ------
    InputError
        When it is missing, too large, empty, no text, or has no line of figures.
    """
    data = read_bytes(path, what=f"a file of a {what}", largest=largest)
    return text_from(_decoded(data, path), name=str(path), what=what)


def text_from(text: str, *, name: str, what: str = "dyno run") -> InstrumentText:
    """The same of a text; ``name`` stands for the file in messages."""
    lines = tuple(text.splitlines())
    if not text.strip():
        raise InputError(f"{name}: got an empty file, expected columns of a {what}.")
    sample = list(_spread(lines))
    delimiter = _delimiter(sample)
    if delimiter is None:
        raise InputError(
            f"{name}: got no line with two figures, expected columns of numbers parted by comma, semicolon "
            "or tab. Export the run as CSV."
        )
    return InstrumentText(name, lines, delimiter, _decimal(sample, delimiter), text.endswith(("\n", "\r")))


def _decoded(data: bytes, path: Path) -> str:
    mark = next((name for mark, name in BYTE_ORDER_MARKS.items() if data.startswith(mark)), None)
    try:
        text = data.decode(mark or "utf-8")
    except UnicodeDecodeError:
        if mark is not None:
            raise InputError(f"{path}: the text breaks off inside a letter; expected a whole file.") from None
        text = data.decode("latin-1")  # a degree sign of an older machine; its figures are the same
    if "\x00" in text:
        line = text[: text.index("\x00")].count("\n") + 1
        raise InputError(f"{path}:{line}: got a zero byte, expected text. Export the run as CSV.")
    return text


def _spread(lines: Sequence[str]) -> Iterator[str]:
    """Lines from the beginning and from all over the file."""
    yield from lines[:LOOKED_AT]
    yield from lines[LOOKED_AT :: max(1, len(lines) // LOOKED_AT)]


def _parted(line: str, delimiter: str) -> list[str]:
    if '"' in line:
        try:
            cells = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True, strict=True), [])
        except csv.Error:
            cells = line.split(delimiter)
    else:
        cells = line.split() if delimiter == " " else line.split(delimiter)
    return [cell.strip() for cell in cells[:MOST_CELLS]]


def _delimiter(lines: Sequence[str]) -> str | None:
    """What leaves most of the cells of most lines numbers; None where nothing leaves two in any line."""

    def fits(delimiter: str) -> float:
        found = 0.0
        for line in lines:
            cells = [cell for cell in _parted(line, delimiter) if cell]
            numbers = sum(_is_number(cell, comma=delimiter != ",") for cell in cells)
            found += numbers / len(cells) if numbers >= 2 else 0.0
        return found

    fit = {delimiter: fits(delimiter) for delimiter in ("\t", ";", ",")}
    best = max(fit, key=lambda one: fit[one])
    if fit[best]:
        return best
    return " " if fits(" ") else None


def _is_number(cell: str, *, comma: bool) -> bool:
    marks = (".", ",") if comma else (".",)
    return any(_PLAIN[mark].fullmatch(cell) or _GROUPED[mark].fullmatch(cell) for mark in marks)


def _decimal(lines: Sequence[str], delimiter: str) -> Literal[".", ","]:
    """What most numbers with decimals have."""
    if delimiter == ",":
        return "."
    cells = [cell for line in lines if not line.startswith(COMMENTS) for cell in _parted(line, delimiter)]
    commas = sum(
        "," in cell and bool(_COMMA.fullmatch(cell) or _GROUPED[","].fullmatch(cell)) for cell in cells
    )
    points = sum(
        "." in cell and bool(_POINT.fullmatch(cell) or _GROUPED["."].fullmatch(cell)) for cell in cells
    )
    return "," if commas > points else "."


def shown_line(text: InstrumentText, number: int) -> str:
    """A line as messages show it."""
    return clipped(repr(text.lines[number - 1]))
