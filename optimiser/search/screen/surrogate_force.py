"""Forces of all members of a shape from those of some, with a margin that is measured on these."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.forecast import Forecast
from optimiser.search.screen.gaussian_process import KERNELS, GaussianProcess, Kernel

Floats = NDArray[np.float64]
Places = NDArray[np.intp]

SAFETY: Final = 2.0
"""Margins are so many times the worst error that was measured, in standard deviations. [-]"""

NEAR: Final = 0.08
"""Errors are measured on stacks that miss a limit by no more than this share of the force. [-]"""

ENOUGH: Final = 20
"""On so many stacks at least of one kind of crossover, else on those of all kinds. [-]"""

USUAL: Final = 0.9
"""No margin is less than that of this share of all stacks. [-]"""

SETTLED: Final = 500
"""Forecast forces by which the kernel is chosen for good; until then its neighbours are tried again. [-]"""


class SurrogateForce:
    """Forces as a function of what lies in the slots of one shape, from those that are known.

    Each known force is predicted from all others (leave one out). The worst error, in standard deviations of
    its prediction, gives the margin at each velocity: of stacks with the same crossovers, since where a gap
    closes force has a kink, and the surrogate has none.

    Parameters
    ----------
    inputs : of all members (members, figures).
    kinds : of their crossovers (members,).
    widening : how many times as wide as usual margins are.
    """

    def __init__(self, inputs: Floats, kinds: Places, widening: float) -> None:
        self._inputs, self._kinds, self.widening = inputs, kinds, widening
        self._kernels: Sequence[Kernel] = KERNELS

    def fit(self, places: Places, logs: Floats, missed_by: Floats) -> None:
        """Take in what is known.

        Parameters
        ----------
        places : of members (known,).
        logs : logarithms of their forces (known, velocities). [-]
        missed_by : by what share of the force each misses a limit at most, less than zero inside (known,).
        """
        self._process = GaussianProcess(self._inputs[places], logs, kernels=self._kernels)
        kernel = self._process.kernel
        self._kernels = (kernel,) if len(places) >= SETTLED else kernel.neighbours
        near = missed_by <= NEAR
        if near.sum() < ENOUGH:
            near = np.ones(len(places), np.bool_)
        errors = np.abs(self._process.errors[near]) / self._process.deviations[near, None]
        kinds, least = self._kinds[places][near], np.quantile(errors, USUAL, axis=0)
        self._per_deviation = np.tile(errors.max(axis=0), (self._kinds.max() + 1, 1))
        for kind in np.flatnonzero(np.bincount(kinds) >= ENOUGH):
            self._per_deviation[kind] = np.maximum(errors[kinds == kind].max(axis=0), least)

    def predict(self, places: Places) -> Forecast:
        """Forces of members, and by how much they may be wrong."""
        logs, deviations = self._process.predict(self._inputs[places])
        wide = self.widening * SAFETY * deviations[:, None]
        return Forecast(logs, wide * self._per_deviation[self._kinds[places]])
