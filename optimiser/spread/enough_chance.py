"""Whether a stack keeps all limits in as many drawn dampers as were asked: clear cases from few of them."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimiser.model.goal import Goal
from optimiser.spread.drawn_forces import Built, DrawnForces
from optimiser.spread.drawn_swap import DrawnSwap
from optimiser.spread.limits import band_limits
from optimiser.spread.model_uncertainty import ModelUncertainty

Floats = NDArray[np.float64]

STAGES: Final = ((512, 0.12), (2048, 0.04), (16384, 0.0))
"""How many dampers are drawn, and how far a chance has to be from the level to be settled by them. [-]

The last settles every case: its chance is off by about 0.2 points, one standard deviation. [-]
"""

STRICTER: Final = 0.003
"""How far a chance has to be above the level on the sample that it is chosen by, to hold on a fresh one.

J. Luedtke and S. Ahmed, "A sample approximation approach for optimization with probabilistic constraints",
SIAM J. Optim. 19 (2008) 674-699. [-]
"""


class _Sample(NamedTuple):
    """Drawn dampers: their steps, what multiplies the model's change, forces as they are before."""

    steps: Floats
    factors: Floats
    before: Floats


class EnoughChance:
    """Judges stacks by one sample of drawn dampers.

    Parameters
    ----------
    forces : of the drawn dampers, at the goal's velocities.
    goal : its limits.
    present : the damper as it is.
    level : share of the drawn dampers that has to keep all limits. [-]
    model_uncertainty : of the model's change.
    seed : of the sample.

    Attributes
    ----------
    asked : how many stacks were judged.
    """

    def __init__(
        self,
        forces: DrawnForces | DrawnSwap,
        goal: Goal,
        *,
        present: Built,
        level: float,
        model_uncertainty: ModelUncertainty,
        seed: int,
    ) -> None:
        self._forces, self._limits, self._present = forces, band_limits(goal), present
        self._velocities, self._level = goal.velocities, level
        self._model, self._seed = model_uncertainty, seed
        self._samples: dict[int, _Sample] = {}
        self.asked = 0

    def enough(self, built: Built) -> bool:
        """Whether a stack has the chance that is asked.

        Raises
        ------
        ModelError
            When it cannot be lifted.
        """
        self.asked += 1
        above = 0.0
        for draws, clear in STAGES:
            above = self.chance(built, draws) - self._level
            if abs(above) > clear > 0:
                return above > 0
        return above >= STRICTER

    def chance(self, built: Built, draws: int) -> float:
        """Share of so many drawn dampers in which all limits hold. [-]"""
        sample = self._sample(draws)
        changes = (self._forces.logs(sample.steps, [built])[:, 0] - sample.before) * sample.factors
        return float(np.all([one.missed_by(changes) == 0 for one in self._limits], axis=0).mean())

    def _sample(self, draws: int) -> _Sample:
        if draws not in self._samples:
            directions = self._forces.directions
            rng = np.random.default_rng((self._seed, draws))
            drawn = directions.sample(draws, rng, further=self._model.draws)
            steps, normal = drawn[:, : len(directions)], drawn[:, len(directions) :]
            before = self._forces.logs(steps, [self._present])[:, 0]
            self._samples[draws] = _Sample(steps, self._model.factors(self._velocities, normal), before)
        return self._samples[draws]
