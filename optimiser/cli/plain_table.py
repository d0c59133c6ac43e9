"""Tables of the shop's books in the terminal."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

from optimiser.cli.saying import say

ON_ONE_LINE: Final = 16
"""A column whose cells are no longer is never broken: a date, a shim, a stage. [characters]"""


def show_table(
    heads: Sequence[str], rows: Sequence[Sequence[str]], *, numbers: Collection[int] = (), empty: str
) -> None:
    """Print a table, or a sentence when there is nothing to show; a column without a word is left out.

    Parameters
    ----------
    heads, rows : the texts.
    numbers : columns that are set flush right.
    empty : what to say when there are no rows.
    """
    from rich.box import SIMPLE_HEAD
    from rich.table import Table
    from rich.text import Text

    from optimiser.report.console import terminal
    from optimiser.report.printable import printable

    if not rows:
        say(empty)
        return
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    filled = [place for place in range(len(heads)) if any(row[place] for row in rows)]
    for place in filled:
        longest = max(len(row[place]) for row in rows)
        table.add_column(
            heads[place],
            justify="right" if place in numbers else "left",
            no_wrap=longest <= ON_ONE_LINE,
            overflow="fold",  # what is to be typed is never cut
        )
    for row in rows:
        table.add_row(*(Text(printable(row[place])) for place in filled))
    terminal().print(table)
