"""An address as a code that a telephone's camera reads, for the terminal and for the page."""

from __future__ import annotations

from typing import Final

import segno
from markupsafe import Markup

QUIET: Final = 4
"""Light squares around a code, as ISO/IEC 18004 asks. [squares]"""


HALVES: Final = {
    (True, True): "\N{FULL BLOCK}",
    (True, False): "\N{UPPER HALF BLOCK}",
    (False, True): "\N{LOWER HALF BLOCK}",
    (False, False): " ",
}
"""Letters for two squares above one another, by whether each is light."""


def code_for_terminal(address: str) -> str:
    """The code in letters of a terminal, two rows of squares a line, drawn light as text on dark is.

    A camera reads it on a light terminal, too, where it stands the other way round.
    """
    code = segno.make(address, error="l")
    rows = [list(row) for row in code.matrix_iter(border=QUIET)]
    rows += [[0] * len(rows[0])] * (len(rows) % 2)
    pairs = zip(rows[::2], rows[1::2], strict=True)
    return "\n".join(
        "".join(HALVES[not upper, not lower] for upper, lower in zip(*pair, strict=True)) for pair in pairs
    )


def code_svg(address: str) -> Markup:
    """The code as a drawing without any style of its own."""
    code = segno.make(address, error="m")
    width = code.symbol_size(scale=1, border=QUIET)[0]
    squares = "".join(
        f"M{column + QUIET} {row + QUIET}h1v1h-1z"
        for row, line in enumerate(code.matrix)
        for column, dark in enumerate(line)
        if dark
    )
    return Markup(
        '<svg class="code" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {0} {0}" role="img" '
        'aria-label="The same address as a code for a camera"><rect width="{0}" height="{0}" fill="#fff"/>'
        '<path d="{1}" fill="#000"/></svg>'
    ).format(width, squares)
