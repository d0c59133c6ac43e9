"""Where the steps of one change lie beside what a target asks: in it, on both sides, or all short of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimiser.model.percent import percent_text

MOST_SHIMS: Final = 12
"""A stack of more shims than this is not called coarse; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepsAround:
    """The steps nearest to what a target asks, among single changes that keep the held bands.

    The stack as it is counts as a step of 0.

    Parameters
    ----------
    band : the target's name.
    least, most : of the average change that the goal allows, as shares of the force before. [-]
    below, above : nearest average change on either side of that, likewise; None when there is none. [-]
    landing : single changes that lie in it.
    others_held : whether the job holds anything else, so that steps were left out.
    """

    band: str
    least: float
    most: float
    below: float | None
    above: float | None
    landing: int
    others_held: bool

    @property
    def between(self) -> bool:
        """Whether the goal falls between two steps."""
        return not self.landing and self.below is not None and self.above is not None

    def too_coarse(self, *, shims: int) -> bool:
        """Whether one change of a stack of so many shims is too coarse for the goal."""
        return self.between and shims <= MOST_SHIMS

    def said(self, *, shims: int, called_coarse: bool = False) -> str:
        """In a sentence, with the figures.

        Parameters
        ----------
        shims : how many the stack has.
        called_coarse : whether to call the stack too coarse, since nothing that the job allows does either.
        """
        held = " that keeps the held bands" if self.others_held else ""
        wanted = f"{percent_text(self.least)} to {percent_text(self.most)}"
        if self.landing:
            kept = " and the held bands keep" if self.others_held else ""
            count = "one change does" if self.landing == 1 else f"{self.landing} single changes do"
            return f"'{self.band}' is to move by {wanted} on average: {count} that{kept}."
        if self.below is None or self.above is None:
            furthest = self.above if self.below is None else self.below
            nearest = "nothing" if furthest is None else percent_text(furthest)
            return f"'{self.band}' is to move by {wanted}: one change{held} comes no nearer than {nearest}."
        steps = (
            f"one change{held} moves '{self.band}' by {percent_text(self.below)} or by "
            f"{percent_text(self.above)} "
            f"and lands nowhere between, while {wanted} is wanted."
        )
        if called_coarse:
            return f"The stack of {shims} shims is too coarse for this goal in one change: {steps}"
        return steps[0].upper() + steps[1:]


def steps_around(
    *, shifts: Sequence[float], least: float, most: float, band: str, others_held: bool = False
) -> StepsAround:
    """The steps on both sides of a goal, and how many lie in it.

    Parameters
    ----------
    shifts : average change of the band for each single change of a shim, as shares of the force before. [-]
    least, most : of the average change that the goal allows, likewise. [-]
    band : the target's name.
    others_held : whether only changes that keep held bands are among the shifts; it is said.
    """
    reached = (0.0, *shifts)
    return StepsAround(
        band=band,
        least=least,
        most=most,
        below=max((shift for shift in reached if shift < least), default=None),
        above=min((shift for shift in reached if shift > most), default=None),
        landing=sum(least <= shift <= most for shift in reached),
        others_held=others_held,
    )
