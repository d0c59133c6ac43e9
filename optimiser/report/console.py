"""The terminal that people read: text from files is only text, whatever brackets or colons it holds."""

from __future__ import annotations

from rich.console import Console


def terminal(*, stderr: bool = False) -> Console:
    """A console that takes every string as it stands.

    Names come from files: ``Harrow [/140]`` must not be read as markup, ``:x:`` not as a picture. What is to
    stand out is given a style, not written into the text.

    Parameters
    ----------
    stderr : write where messages go instead of where answers go.
    """
    return Console(stderr=stderr, markup=False, emoji=False)
