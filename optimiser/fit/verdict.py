"""Whether the model, with its figures at their best, explains the runs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtrc, ndtr

Floats = NDArray[np.float64]

SELDOM: Final = 0.01
"""Either test is wrong about a right model as often as this. [-]"""

LARGE: Final = 0.05
"""A discrepancy beyond this means that something in the damper is not as its file says; our choice. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FitVerdict:
    """What speaks for and against a fit.

    Parameters
    ----------
    total : sum of squares at the best, in standard deviations of what was expected. [-]
    points : that it may be as large as. [-]
    by_chance : how often a model that is right would have a larger one. [-]
    patterned : how often the residuals of a model that is right would change sign as seldom. [-]
    misses : largest discrepancy that is surer than its spread: velocity and logarithm. [m/s, -]
    """

    total: float
    points: int
    by_chance: float
    patterned: float
    misses: tuple[float, float]

    @property
    def widened(self) -> float:
        """Factor that the errors were taken larger by than expected, not below 1. [-]"""
        return math.sqrt(max(self.total / self.points, 1.0))

    @property
    def scattered(self) -> bool:
        """Whether points lie farther off than runs do from one another."""
        return self.by_chance < SELDOM

    @property
    def one_sided_stretches(self) -> bool:
        """Whether residuals of one sign lie together, as where a law is wrong."""
        return self.patterned < SELDOM

    @property
    def bends(self) -> bool:
        """Whether the curve has another shape than any figures of the file can give it."""
        return abs(self.misses[1]) > LARGE

    @property
    def holds(self) -> bool:
        """Whether nothing speaks against the fit."""
        return not (self.scattered or self.one_sided_stretches or self.bends)


def chance_of(total: float, points: int) -> float:
    """How often a sum of squares of so many points is larger than this. [-]"""
    return float(chdtrc(points, total))


def sign_changes_seldom(residuals: Floats) -> float:
    """How often signs in random order change as seldom as these, or more so. [-]

    Parameters
    ----------
    residuals : in an order in which neighbours would share what the model misses (points,).

    References
    ----------
    .. [1] A. Wald and J. Wolfowitz, "On a test whether two samples are from the same population", Ann. Math.
       Statist. 11 (1940) 147-162: mean and variance of the number of runs of signs; normal, with the usual
       half as correction.
    """
    signs = residuals > 0
    above, below = int(signs.sum()), int((~signs).sum())
    if min(above, below) < 2:
        return 1.0
    count = above + below
    runs = 1 + int((signs[1:] != signs[:-1]).sum())
    mean = 1 + 2 * above * below / count
    variance = (mean - 1) * (mean - 2) / (count - 1)
    return float(ndtr((runs + 0.5 - mean) / math.sqrt(variance)))
