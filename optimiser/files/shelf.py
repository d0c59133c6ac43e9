"""The shelf's CSV file: one shim type a line, read whole or refused by line, always written alike."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from optimiser.files.csv_cells import defused
from optimiser.files.csv_lines import CsvKind, refuse
from optimiser.files.micrometer import readings_text
from optimiser.files.shelf_line import ShelfLine, faults_of
from optimiser.model.stock import ShimKey, Stock

COLUMNS: Final = ("outer_mm", "thickness_mm", "hole_mm", "count", "drawer", "label", "low_at", "read_mm")
KIND: Final = CsvKind("shelf file", COLUMNS, needed=4)


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """One shim type on the shelf.

    Parameters
    ----------
    key : the type.
    count : how many there are.
    drawer, label : the shop's own words, empty when it has none.
    low_at : mark the type as low at this count or under it; None for never.
    readings : what single shims of it measured, one entry a shim, rising. [um]
    """

    key: ShimKey
    count: int
    drawer: str = ""
    label: str = ""
    low_at: int | None = None
    readings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Shelf:
    """The lines of a shelf file with their line numbers, which a dry run shows."""

    rows: tuple[ShelfRow, ...]
    lines: tuple[int, ...]

    @property
    def stock(self) -> Stock:
        """The counts, as the search sees them, and the drawers, as sheets name them."""
        return Stock(
            {row.key: row.count for row in self.rows},
            drawers={row.key: row.drawer for row in self.rows if row.drawer},
            readings={row.key: row.readings for row in self.rows if row.readings},
        )


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
    return shelf_from_text(KIND.text_of(path), name=str(path))


def shelf_from_text(text: str, *, name: str) -> Shelf:
    """Read the text of a shelf file; ``name`` stands for the file in messages."""
    rows: list[ShelfRow] = []
    lines: list[int] = []
    faults: list[str] = []
    seen: dict[ShimKey, int] = {}
    for line, cells in KIND.lines(text, name=name):
        found = _row(cells, f"{name}:{line}")
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
    refuse(faults)
    return Shelf(tuple(rows), tuple(lines))


def shelf_text(rows: Iterable[ShelfRow]) -> str:
    """Write shims as :func:`read_shelf` reads them, in order of size: equal shelves give equal bytes."""
    ordered = sorted(rows, key=lambda row: (row.key.inner, -row.key.outer, row.key.thickness))
    # A shop without a micrometer has no column for it.
    columns = len(COLUMNS) if any(row.readings for row in ordered) else len(COLUMNS) - 1
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS[:columns])
    for row in ordered:
        key = row.key
        decimals = 2 if key.thickness % 10 == 0 else 3
        writer.writerow(
            (
                f"{key.outer / 1000:g}",
                f"{key.thickness / 1000:.{decimals}f}",
                f"{key.inner / 1000:g}",
                row.count,
                defused(row.drawer),
                defused(row.label),
                "" if row.low_at is None else row.low_at,
                readings_text(row.readings),
            )[:columns]
        )
    return out.getvalue()


def _row(cells: dict[str, str] | list[str], where: str) -> ShelfRow | list[str]:
    if isinstance(cells, list):
        return cells
    line = faults_of(cells, where=where)
    return line if isinstance(line, list) else _from_line(line)


def _from_line(line: ShelfLine) -> ShelfRow:
    key = ShimKey.from_millimetres(outer=line.outer_mm, thickness=line.thickness_mm, inner=line.hole_mm)
    return ShelfRow(key, line.count, line.drawer, line.label, line.low_at, line.readings)
