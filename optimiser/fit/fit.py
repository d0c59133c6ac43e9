"""A damper's unknown figures after its runs, as a value."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimiser.fit.discrepancy import Discrepancy
from optimiser.fit.observed import Sample
from optimiser.fit.profile import Estimate, FigureLabel
from optimiser.fit.verdict import FitVerdict
from optimiser.unknowns.knowledge import Knowledge

Floats = NDArray[np.float64]


BANDS: Final = (("low speed", 0.0, 0.15), ("mid speed", 0.15, 0.6), ("high speed", 0.6, math.inf))
"""Names and ends of the usual bands; common practice, no source. [m/s]"""


class BandMiss(NamedTuple):
    """How far measured and computed damping lie apart in a band: roots of mean squares of their logarithm.

    Parameters
    ----------
    band : its name.
    sign : 1 in compression, -1 in rebound.
    points : that lie in it.
    typed : for the damper as its file describes it. [-]
    fitted : with the figures at their best. [-]
    plan : for a plan's damper. [-]
    """

    band: str
    sign: float
    points: int
    typed: float
    fitted: float
    plan: float


class Together(NamedTuple):
    """Two figures that runs tell only together.

    Parameters
    ----------
    first, second : their places among the estimates.
    correlation : of their draws after the runs, between -1 and 1. [-]
    """

    first: int
    second: int
    correlation: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """What runs on a dyno tell of one damper.

    Parameters
    ----------
    damper : its name.
    sample : what was fitted to.
    estimates : of each figure.
    knowledge : of all figures together, about the damper as its file describes it.
    for_plans : draws that a plan's damper has, whose steel stays nominal (unknowns,). [-]
    logarithms : of the damping with the figures at their best, at the sample's points (points,). [ln N]
    plan_logarithms : the same of a plan's damper (points,). [ln N]
    typed_logarithms : the same of the damper as its file describes it (points,). [ln N]
    slopes : change of the logarithms at the best by the draws (points, unknowns). [-]
    discrepancy : what no figure explains.
    noise : covariance of the points' errors, without the discrepancy, as the fit took it in the end. [-]
    verdict : whether the fit holds.
    """

    damper: str
    sample: Sample
    estimates: tuple[Estimate, ...]
    knowledge: Knowledge
    for_plans: Floats
    logarithms: Floats
    plan_logarithms: Floats
    typed_logarithms: Floats
    slopes: Floats
    discrepancy: Discrepancy
    noise: Floats
    verdict: FitVerdict

    def labelled(self, label: FigureLabel) -> tuple[Estimate, ...]:
        """The figures that have a label."""
        return tuple(estimate for estimate in self.estimates if estimate.label is label)

    def misses(self) -> tuple[BandMiss, ...]:
        """How far measured and computed damping lie apart, band by band, where there are points."""
        velocities, found = self.sample.velocities, []
        for sign in (1.0, -1.0):
            for name, slowest, fastest in BANDS:
                speeds = sign * velocities
                own = (speeds >= slowest) & (speeds < fastest)
                if own.any():
                    typed, fitted, plan = (
                        math.sqrt(float(np.mean(np.square((self.sample.logarithms - computed)[own]))))
                        for computed in (self.typed_logarithms, self.logarithms, self.plan_logarithms)
                    )
                    found.append(BandMiss(name, sign, int(own.sum()), typed, fitted, plan))
        return tuple(found)

    @property
    def missed(self) -> float:
        """Root mean square of the logarithm of measured over computed damping. [-]"""
        return math.sqrt(float(np.mean(np.square(self.sample.logarithms - self.logarithms))))

    def together(self, *, beyond: float = 0.8) -> tuple[Together, ...]:
        """Pairs of figures that the runs move and tell only together, the closest first.

        ``beyond`` is the least size of their correlation. [-]
        """
        deviations = self.knowledge.deviations
        correlation = self.knowledge.covariance / np.outer(deviations, deviations)
        found = [
            Together(first, second, float(correlation[first, second]))
            for first in range(deviations.size)
            for second in range(first)
            if abs(correlation[first, second]) > beyond
        ]
        return tuple(sorted(found, key=lambda pair: -abs(pair.correlation)))
