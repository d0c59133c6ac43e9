"""The shelf's CSV file: one shim type a line, read whole or refused by line, always written alike."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimiser.errors import InputError
from optimiser.files.base import LARGEST_FILE
from optimiser.files.shelf_line import ShelfLine, faults_of
from optimiser.stock import ShimKey, Stock

COLUMNS: Final = ("outer_mm", "thickness_mm", "hole_mm", "count", "drawer", "label", "low_at")
NEEDED: Final = COLUMNS[:4]
MOST_FAULTS: Final = 20
"""More are only counted: a wrong file is wrong on every line."""

BYTE_ORDER_MARKS: Final = {
    b"\xef\xbb\xbf": "utf-8-sig",
    b"\xff\xfe": "utf-16",
    b"\xfe\xff": "utf-16",
}


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """One shim type on the shelf.

    Parameters
    ----------
    key : the type.
    count : how many there are.
    drawer, label : the shop's own words, empty when it has none.
    low_at : mark the type as low at this count or under it; None for never.
    """

    key: ShimKey
    count: int
    drawer: str = ""
    label: str = ""
    low_at: int | None = None


@dataclass(frozen=True, slots=True)
class Shelf:
    """The lines of a shelf file with their line numbers, which a dry run shows."""

    rows: tuple[ShelfRow, ...]
    lines: tuple[int, ...]

    @property
    def stock(self) -> Stock:
        """The counts alone, as the search sees them."""
        return Stock({row.key: row.count for row in self.rows})


def read_shelf(path: Path) -> Shelf:
    """Read a shelf file.

    Parameters
    ----------
    path : CSV with a header, separated by comma, semicolon or tab; UTF-8, or UTF-16 with its byte order mark.

    Raises
    ------
    InputError
        Naming file, line and field, what was got, what was expected and the way out; all faults at once.
    """
    return shelf_from_text(_text(path), name=str(path))


def shelf_from_text(text: str, *, name: str) -> Shelf:
    """Read the text of a shelf file; ``name`` stands for the file in messages."""
    if not text.strip():
        raise InputError(f"{name}: got an empty file, expected a header line {','.join(COLUMNS)} and shims.")
    separator = _separator(text)
    records = _records(text, separator, name)
    head_line, head = next(records, (1, []))
    columns = _columns(head, f"{name}:{head_line}")
    rows: list[ShelfRow] = []
    lines: list[int] = []
    faults: list[str] = []
    seen: dict[ShimKey, int] = {}
    for line, cells in records:
        found = _row(cells, columns, f"{name}:{line}", separator)
        if isinstance(found, list):
            faults += found
        elif found.key in seen:
            faults.append(
                f"{name}:{line}: got {found.key} with a {found.key.inner / 1000:g} mm hole a second time, "
                f"first on line {seen[found.key]}; expected one line a type. Add up their counts on one line."
            )
        else:
            seen[found.key] = line
            rows.append(found)
            lines.append(line)
    if faults:
        more = [f"... and {len(faults) - MOST_FAULTS} more faults."] if len(faults) > MOST_FAULTS else []
        raise InputError("\n".join(faults[:MOST_FAULTS] + more))
    return Shelf(tuple(rows), tuple(lines))


def shelf_text(rows: Iterable[ShelfRow]) -> str:
    """Write shims as :func:`read_shelf` reads them, in order of size: equal shelves give equal bytes."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for row in sorted(rows, key=lambda row: (row.key.inner, -row.key.outer, row.key.thickness)):
        key = row.key
        decimals = 2 if key.thickness % 10 == 0 else 3
        writer.writerow(
            (
                f"{key.outer / 1000:g}",
                f"{key.thickness / 1000:.{decimals}f}",
                f"{key.inner / 1000:g}",
                row.count,
                row.drawer,
                row.label,
                "" if row.low_at is None else row.low_at,
            )
        )
    return out.getvalue()


def _text(path: Path) -> str:
    try:
        if path.is_dir():
            raise InputError(f"{path}: got a folder, expected a shelf file. Name the CSV file inside it.")
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        raise InputError(
            f"{path}: no such file; expected a shelf file. Check the spelling and the folder."
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise InputError(f"{path}: cannot be read ({reason}); expected a shelf file.") from None
    if len(data) > LARGEST_FILE:
        raise InputError(
            f"{path}: got more than {LARGEST_FILE / 1e6:.0f} MB, expected a shelf file under it. "
            "Check that this is the right file."
        )
    encoding = next((name for mark, name in BYTE_ORDER_MARKS.items() if data.startswith(mark)), "utf-8")
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise InputError(
            f"{path}:{line}: got byte {error.start}, which is not {encoding.removesuffix('-sig').upper()}; "
            "expected a shelf file in UTF-8. Save it again as 'CSV UTF-8'."
        ) from None


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


def _columns(head: list[str], where: str) -> list[str]:
    names = [cell.lower() for cell in head]
    wanted = f"expected a header line {','.join(COLUMNS)}"
    unknown = [cell for cell in names if cell and cell not in COLUMNS]
    if unknown:
        raise InputError(
            f"{where}: got the column {unknown[0][:40]!r}; {wanted}, the last three if you like. "
            "Rename or delete that column."
        )
    missing = [column for column in NEEDED if column not in names]
    if missing:
        raise InputError(f"{where}: got no column {missing[0]!r}; {wanted}. Add the column.")
    twice = [name for name in names if name and names.count(name) > 1]
    if twice:
        raise InputError(f"{where}: got the column {twice[0]!r} twice; {wanted}. Delete one of the two.")
    return names


def _row(cells: list[str], columns: list[str], where: str, separator: str) -> ShelfRow | list[str]:
    if len(cells) != len(columns):
        # Empty cells may not lack: "8,5" as a hole of 8.5 mm would pass for a hole of 8 and a count of 5.
        hint = (
            "A decimal comma splits a number in two: write 0.15. Keep the commas of empty cells."
            if separator == ","
            else "Keep the separators of empty cells."
        )
        return [f"{where}: got {len(cells)} cells, expected {len(columns)} as in the header. {hint}"]
    given = dict(zip(columns, cells, strict=True))
    if any(cell and not column for column, cell in zip(columns, cells, strict=True)):
        return [f"{where}: got a cell under no name; expected cells under named columns. Name the column."]
    line = faults_of(given, where=where)
    return line if isinstance(line, list) else _from_line(line)


def _from_line(line: ShelfLine) -> ShelfRow:
    key = ShimKey.from_millimetres(outer=line.outer_mm, thickness=line.thickness_mm, inner=line.hole_mm)
    return ShelfRow(key, line.count, line.drawer, line.label, line.low_at)
