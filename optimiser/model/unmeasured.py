"""Figures of a description that nobody measured: taken as usual for the kind, said beside every answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

MOST_NAMED: Final = 6
"""Figures that a sentence names; the file lists all of them. [-]"""


@dataclass(frozen=True, slots=True)
class Unmeasured:
    """A figure that is taken instead of measured.

    Parameters
    ----------
    what : the figure, in words.
    off : how far the true one may be from it, as a share. [-]
    part : name of the part that it is a figure of; empty for the damper or machine itself.
    figure : its key there, without a unit.
    """

    what: str
    off: float
    part: str = ""
    figure: str = ""


def unmeasured_words(figures: Sequence[Unmeasured]) -> str:
    """The figures in a row, the least certain first; those past a handful are only counted."""
    ordered = sorted(figures, key=lambda one: (-one.off, one.what))
    named = ", ".join(f"{one.what} (± {100 * one.off:.3g} %)" for one in ordered[:MOST_NAMED])
    more = len(ordered) - MOST_NAMED
    return named + (f", and {more} more" if more > 0 else "")
