"""One figure of a damper that nobody knows exactly, with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from typing import Final

from damping_model.units import MICROMETRE

RECTANGULAR_END: Final = math.sqrt(3)
"""Ends of the rectangular distribution of standard deviation 1. [-]

JCGM 100:2008 (GUM), 4.3.7: between limits of which nothing more is known.
"""


class Move(Enum):
    """How a draw moves its figure."""

    FACTOR = "factor"
    """The figure is multiplied by exp(uncertainty x draw): it keeps its sign, as areas and viscosities do."""

    SHIFT = "shift"
    """uncertainty x draw is added to the figure, in its own unit."""


class Distribution(Enum):
    """How a draw is distributed: with mean 0 and standard deviation 1 in either case."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    """Between limits, as a standard's tolerance states them."""


class Owner(Enum):
    """What an unknown belongs to, when it is no valve path of the damper."""

    DAMPER = "damper"
    OIL = "oil"
    STEEL = "steel"
    SHIMS_INSIDE = "shims in the damper"
    SHIMS_OF_THE_SHELF = "shims on the shelf"


def nominal_figure(thickness: float) -> str:
    """The figure's name of shims of a nominal thickness [m]: whole micrometres."""
    return str(round(thickness / MICROMETRE))


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """A figure with its uncertainty.

    Parameters
    ----------
    owner : what it belongs to: a part, or the name of a path.
    figure : its name there; for shims the nominal thickness in whole micrometres.
    words : what it is, as a person says it.
    uncertainty : standard deviation of the logarithm of a factor, or of a shift. [-, or its unit]
    move, distribution : how a draw moves it, and how draws are distributed.
    limits : least and most that the figure can be; a draw beyond them stands at the limit. [its unit]
    measured : whether somebody measured the figure, so that the uncertainty is that of measuring.
    source : where the uncertainty comes from.
    """

    owner: Owner | str
    figure: str
    words: str
    uncertainty: float
    move: Move = Move.FACTOR
    distribution: Distribution = Distribution.NORMAL
    limits: tuple[float, float] = (-math.inf, math.inf)
    measured: bool = True
    source: str = "common practice, no source"

    def moved(self, value: float, draw: float) -> float:
        """The figure that a draw makes of a value; 0 leaves it. [its unit]"""
        step = self.uncertainty * draw
        moved = value * math.exp(step) if self.move is Move.FACTOR else value + step
        return min(max(moved, self.limits[0]), self.limits[1])
