"""How far each unknown may stand from its best, all others following: the profile of the sum of squares.

Close to the best the sum is a parabola and its curvature tells all. Far from it, and where runs say nothing,
it is not, and the curvature misleads: A. Raue et al., "Structural and practical identifiability analysis of
partially observed dynamical models by exploiting the profile likelihood", Bioinformatics 25 (2009) 1923.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import fdtri

from damping_model.errors import ModelError
from optimiser.fit.posterior import Best, LeastSquares
from optimiser.unknowns.unknown import Unknown

Floats = NDArray[np.float64]

CONFIDENCE: Final = 0.95
"""That the true figure lies within its interval. [-]"""

REACH: Final = 3.0
"""Standard deviations of what was known before within which runs have to bound a figure to tell it. [-]"""

SETTLED: Final = 0.1
"""All others have followed one when the sum of squares gains less by a step. [-]"""

NEAR: Final = 0.25
"""An end of an interval is where the root of the rise says, once that is this near the wanted one. [-]"""

MOST_TRIES: Final = 4


class FigureLabel(StrEnum):
    """What runs tell of a figure."""

    IDENTIFIED = "identified"
    """They bound it on both sides, whatever was known before."""
    ONE_SIDED = "one-sided"
    """They bound it on one side."""
    FLAT = "flat"
    """They say nothing of it that others could not have done: it stays as it is written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """One figure after the runs.

    Parameters
    ----------
    unknown : the figure.
    draw : where it stands at the best, in its standard deviations. [-]
    low, high : ends of its interval, likewise. [-]
    label : what the runs tell of it.
    """

    unknown: Unknown
    draw: float
    low: float
    high: float
    label: FigureLabel


def rise(points: int) -> float:
    """By how much the sum of squares rises to the ends of an interval. [-]

    Parameters
    ----------
    points : that were fitted to; priors count as points, so that as many are free.

    Notes
    -----
    The F-test: (rise/1)/(sum/points) is distributed as F(1, points), with the sum scaled to ``points``.
    """
    return float(fdtri(1, points, CONFIDENCE))


class Profile:
    """The sum of squares against one unknown at a time, all others at their best for it.

    Parameters
    ----------
    squares : what is small.
    best : the draws that fit best.
    points : that were fitted to.
    """

    def __init__(self, squares: LeastSquares, best: Best, *, points: int) -> None:
        self.squares, self.best = squares, best
        self.covariance = squares.covariance(best.slopes)
        self.rise = rise(points)

    def estimate(self, place: int) -> Estimate:
        """One unknown with its interval and label."""
        here = float(self.best.draws[place])
        far = min(REACH, float(self.squares.model.ends[place]))
        if all(self._unmoved(place, side * far) < self.rise for side in (-1.0, 1.0)):
            end = min(math.sqrt(self.rise), float(self.squares.model.ends[place]))
            return self._estimate(place, (-end, end), FigureLabel.FLAT)
        ends, alone = [], [-here * here]
        outer = []
        for side in (-1.0, 1.0):
            end, without = self._end(place, side)
            ends.append(end)
            alone.append(without)
            if without + here * here < self.rise:
                without = self.at(place, side * far) - far * far
                alone.append(without)
            outer.append(without)
        least = min(alone)
        bounded = sum(without - least >= self.rise for without in outer)
        label = (FigureLabel.FLAT, FigureLabel.ONE_SIDED, FigureLabel.IDENTIFIED)[bounded]
        return self._estimate(place, (ends[0], ends[1]), label)

    def _estimate(self, place: int, ends: tuple[float, float], label: FigureLabel) -> Estimate:
        return Estimate(
            unknown=self.squares.model.unknowns[place],
            draw=float(self.best.draws[place]),
            low=ends[0],
            high=ends[1],
            label=label,
        )

    def _unmoved(self, place: int, draw: float) -> float:
        """Rise of the sum with one unknown at a draw and no other moved, without its own prior. [-]

        No less than where the others follow: a figure that this bounds nowhere is bounded by nothing.
        """
        draws = self.best.draws.copy()
        draws[place] = draw
        try:
            residuals = self.squares.residuals(draws, self.squares.model.logarithms(draws))
            rise_with = float(residuals @ residuals) - self.best.total
            return rise_with - draw * draw + float(self.best.draws[place]) ** 2
        except ModelError:
            return math.inf

    def at(self, place: int, draw: float) -> float:
        """Rise of the sum with one unknown at a draw and all others at their best for it. [-]"""
        best = self.best.draws
        column = self.covariance[:, place] / self.covariance[place, place]
        ends = self.squares.model.ends
        draws = np.clip(best + column * (draw - best[place]), -ends, ends)
        draws[place] = draw
        held = np.arange(best.size) == place
        try:
            return (
                self.squares.followed(draws, self.best.slopes, held=held, gain=SETTLED).total
                - self.best.total
            )
        except ModelError:
            return math.inf

    def _end(self, place: int, side: float) -> tuple[float, float]:
        """End of an interval on one side, and the rise there without the unknown's own prior."""
        here, limit = float(self.best.draws[place]), float(self.squares.model.ends[place])
        away = math.sqrt(self.rise * self.covariance[place, place])
        low, high = 0.0, max(limit - side * here, 0.0)
        without = -here * here
        for _ in range(MOST_TRIES):
            away = min(away, high)
            draw = here + side * away
            found = self.at(place, draw)
            without = found - draw * draw
            share = math.sqrt(max(found, 0.0) / self.rise)
            if share < 1 and away >= limit - side * here:
                break
            if abs(share - 1) < NEAR:
                away = min(away / share, limit - side * here)
                break
            if share > 1:
                high = away
            else:
                low = away
            newer = away / max(share, 0.25)
            away = newer if low < newer < high else 0.5 * (low + high)
        return here + side * away, without
