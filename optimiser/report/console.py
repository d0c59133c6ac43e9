"""The terminal that people read: text from files is only text, whatever it holds."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.text import Text

from optimiser.report.printable import printable


class PlainConsole(Console):
    """A console that shows control characters in what it prints as marks; its own colours stay."""

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterable[Segment]:
        """Pieces of a line as they are printed, cleaned before they are laid out."""
        for segment in super().render(renderable, options):
            clean = segment.text if segment.control else printable(segment.text)
            yield segment if clean == segment.text else Segment(clean, segment.style)


def terminal(*, stderr: bool = False) -> Console:
    """A console that takes every string as it stands.

    Names come from files: ``Oxlip [/140]`` must not be read as markup, ``:x:`` not as a picture. What is to
    stand out is given a style, not written into the text.

    Parameters
    ----------
    stderr : write where messages go instead of where answers go.
    """
    return PlainConsole(stderr=stderr, markup=False, emoji=False)


def in_colour(console: Console) -> bool:
    """Whether what is drawn may carry colour: only for a person at a terminal who has not said NO_COLOR."""
    return console.is_terminal and not console.no_color


def print_drawing(console: Console, drawn: str) -> None:
    """Print what was drawn with characters: its colours are ours, and no line of it is wrapped or cut."""
    console.print(Text.from_ansi(drawn), no_wrap=True, overflow="ignore", crop=False, highlight=False)
