"""A table of figures for a narrow terminal: each row's name has a line of its own above its figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.box import SIMPLE_HEAD
from rich.console import Group
from rich.table import Table
from rich.text import Text


@dataclass(frozen=True, slots=True)
class NamedLine:
    """One row.

    Parameters
    ----------
    mark : what stands before it; may be empty.
    name : as long as it takes; wraps.
    cells : its figures, on one line.
    """

    mark: str
    name: str
    cells: tuple[str, ...]


def named_lines(rows: Sequence[NamedLine], *, title: str, heads: Sequence[str]) -> Table:
    """The table.

    Parameters
    ----------
    rows : in order, each with as many figures as there are heads.
    title : above it.
    heads : of the figures, which stand below one another at the right of their column.
    """
    columns = list(zip(heads, *(row.cells for row in rows), strict=True))
    widths = [max(map(len, column)) for column in columns]

    def line(cells: Sequence[str]) -> str:
        return "  ".join(cell.rjust(width) for cell, width in zip(cells, widths, strict=True))

    table = Table(title=title, box=SIMPLE_HEAD, pad_edge=False)
    if any(row.mark for row in rows):
        table.add_column("", no_wrap=True)
    table.add_column(Text(line(heads), no_wrap=True))
    for row in rows:
        body = Group(Text(row.name), Text(line(row.cells), no_wrap=True))
        table.add_row(*([row.mark] if len(table.columns) > 1 else []), body)
    return table
