"""What all CSV files of the shop share: how they are opened, parted into cells, and refused by line."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimiser.errors import InputError
from optimiser.files.base import MOST_FAULTS
from optimiser.files.reading import read_bytes

MOST_LINES: Final = 2000
"""Shim types in one file; a large shop has some hundred."""

BYTE_ORDER_MARKS: Final = {
    b"\xef\xbb\xbf": "utf-8-sig",
    b"\xff\xfe": "utf-16",
    b"\xfe\xff": "utf-16",
}


@dataclass(frozen=True, slots=True)
class CsvKind:
    """A kind of CSV file.

    Parameters
    ----------
    what : the kind, for messages, as ``shelf file``.
    columns : every column it may have, those it must have first.
    needed : how many it must have.
    """

    what: str
    columns: tuple[str, ...]
    needed: int

    def _how_to_begin(self) -> str:
        return f" Check the spelling and the folder, or begin one with the line {','.join(self.columns)}"

    def text_of(self, path: Path) -> str:
        """Text of a file in UTF-8, or in UTF-16 with its byte order mark.

        Raises
        ------
        InputError
            When it cannot be read, is too large, or is not text.
        """
        data = read_bytes(path, what=f"a {self.what}", hint=self._how_to_begin)
        encoding = next((name for mark, name in BYTE_ORDER_MARKS.items() if data.startswith(mark)), "utf-8")
        try:
            return data.decode(encoding)
        except UnicodeDecodeError as error:
            line = data[: error.start].count(b"\n") + 1
            raise InputError(
                f"{path}:{line}: got byte {error.start}, which is not "
                f"{encoding.removesuffix('-sig').upper()}; "
                f"expected a {self.what} in UTF-8. Save it again as 'CSV UTF-8'."
            ) from None

    def lines(self, text: str, *, name: str) -> Iterator[tuple[int, dict[str, str] | list[str]]]:
        """Every line that holds anything, with its number: cells by column, or what is wrong with them.

        Parameters
        ----------
        text : of the file, separated by comma, semicolon or tab.
        name : of the file, for messages.

        Raises
        ------
        InputError
            When the header is wrong, or a line is no CSV.
        """
        if not text.strip():
            raise InputError(
                f"{name}: got an empty file, expected a header line {','.join(self.columns)} and shims."
            )
        separator = _separator(text)
        records = _records(text, separator, name)
        head_line, head = next(records, (1, []))
        columns = self._columns(head, f"{name}:{head_line}")
        for number, (line, cells) in enumerate(records, 1):
            if number > MOST_LINES:
                raise InputError(
                    f"{name}:{line}: got more than {MOST_LINES} lines of shims, expected fewer types. "
                    "Leave out what nobody here builds with."
                )
            yield line, _cells(cells, columns, f"{name}:{line}", separator)

    def _columns(self, head: list[str], where: str) -> list[str]:
        names = [cell.lower() for cell in head]
        optional = len(self.columns) - self.needed
        words = {1: "one", 2: "two", 3: "three"}.get(optional, str(optional))
        wanted = f"expected a header line {','.join(self.columns)}"
        unknown = [cell for cell in names if cell and cell not in self.columns]
        if unknown:
            raise InputError(
                f"{where}: got the column {unknown[0][:40]!r}; {wanted}, the last {words} if you like. "
                "Rename or delete that column."
            )
        missing = [column for column in self.columns[: self.needed] if column not in names]
        if missing:
            raise InputError(f"{where}: got no column {missing[0]!r}; {wanted}. Add the column.")
        twice = [name for name in names if name and names.count(name) > 1]
        if twice:
            raise InputError(f"{where}: got the column {twice[0]!r} twice; {wanted}. Delete one of the two.")
        return names


def refuse(faults: Sequence[str]) -> None:
    """Refuse a file for all its faults at once, if there are any.

    Raises
    ------
    InputError
        One message a fault.
    """
    if faults:
        more = [f"... and {len(faults) - MOST_FAULTS} more faults."] if len(faults) > MOST_FAULTS else []
        raise InputError("\n".join([*faults[:MOST_FAULTS], *more]))


def _separator(text: str) -> str:
    """The separator that makes most sense of the first line; names of columns hold none of them."""
    head = text.lstrip("\r\n").splitlines()[0]
    return max(",;\t", key=head.count)


def _records(text: str, separator: str, name: str) -> Iterator[tuple[int, list[str]]]:
    """Every line that holds anything, with its number in the file."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    line = 0
    try:
        for cells in reader:
            stripped = [cell.strip() for cell in cells]
            if any(stripped):
                yield line + 1, stripped
            line = reader.line_num
    except csv.Error as error:
        raise InputError(
            f"{name}:{line + 1}: got a line that is not CSV ({error}); "
            f"expected cells separated by {separator!r}. "
            "Look for a quote that is opened and not closed."
        ) from None


def _cells(cells: list[str], columns: list[str], where: str, separator: str) -> dict[str, str] | list[str]:
    if len(cells) != len(columns):
        # Empty cells may not lack: "8,5" as a hole of 8.5 mm would pass for a hole of 8 and a count of 5.
        hint = (
            "A decimal comma splits a number in two: write 0.15. Keep the commas of empty cells."
            if separator == ","
            else "Keep the separators of empty cells."
        )
        return [f"{where}: got {len(cells)} cells, expected {len(columns)} as in the header. {hint}"]
    if any(cell and not column for column, cell in zip(columns, cells, strict=True)):
        return [f"{where}: got a cell under no name; expected cells under named columns. Name the column."]
    return dict(zip(columns, cells, strict=True))
