"""A damper's unknown figures after its runs, as a value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimiser.fit.discrepancy import Discrepancy
from optimiser.fit.profile import Estimate, Label
from optimiser.fit.sample import Sample
from optimiser.fit.verdict import Verdict
from optimiser.unknowns.knowledge import Knowledge

Floats = NDArray[np.float64]


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
    for_plans : draws that a plan's damper has, whose shims and steel stay nominal (unknowns,). [-]
    logarithms : of the damping with the figures at their best, at the sample's points (points,). [ln N]
    plan_logarithms : the same of a plan's damper (points,). [ln N]
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
    discrepancy: Discrepancy
    noise: Floats
    verdict: Verdict

    def labelled(self, label: Label) -> tuple[Estimate, ...]:
        """The figures that have a label."""
        return tuple(estimate for estimate in self.estimates if estimate.label is label)

    @property
    def residuals(self) -> Floats:
        """Logarithm of measured over computed damping, without the discrepancy (points,). [-]"""
        return self.sample.logarithms - self.logarithms

    @property
    def plan_residuals(self) -> Floats:
        """The same for a plan's damper (points,). [-]"""
        return self.sample.logarithms - self.plan_logarithms

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
