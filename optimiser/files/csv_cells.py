"""Words in a CSV cell that a spreadsheet would compute: defused when written, as they were when read."""

from __future__ import annotations

import re
from typing import Final

GUARD: Final = "'"
"""Before a formula a spreadsheet takes it as a sign that text follows."""

_FORMULA: Final = re.compile(r"'*[=+\-@]")


def defused(text: str) -> str:
    """Text as it is written into a cell: nothing in it is computed by a spreadsheet.

    Examples
    --------
    >>> defused("=1+1"), defused("A1"), as_meant(defused("'=1+1"))
    ("'=1+1", 'A1', "'=1+1")
    """
    return GUARD + text if _FORMULA.match(text) else text


def as_meant(cell: str) -> str:
    """The text that :func:`defused` made a cell of; a cell that somebody else wrote is taken as it stands."""
    return cell.removeprefix(GUARD) if _FORMULA.match(cell) else cell
