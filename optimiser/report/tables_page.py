"""Tables as one HTML page that needs no network and no script, in the look of the build sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from optimiser.report.printable import printable
from optimiser.report.templates import template


@dataclass(frozen=True, slots=True)
class PageTable:
    """One table of a page.

    Parameters
    ----------
    title : what it lists.
    heads, rows : texts; a row has as many as there are heads.
    empty : what to say when there is no row.
    """

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    empty: str


@dataclass(frozen=True, slots=True)
class PrintedLabel:
    """One label to cut out.

    Parameters
    ----------
    title : in large letters.
    lines : below it.
    """

    title: str
    lines: tuple[str, ...]


def tables_html(title: str, tables: Sequence[PageTable], *, on: date) -> str:
    """A page of tables; any text in them may come from a stranger and is escaped."""
    return _page(title, on, tables=tables, labels=())


def labels_html(title: str, labels: Sequence[PrintedLabel], *, on: date) -> str:
    """A page of labels to print, three beside one another on A4."""
    return _page(title, on, tables=(), labels=labels)


def _page(title: str, on: date, **content: object) -> str:
    return printable(template("tables.html.jinja").render(title=title, on=on, **content))
