"""Forces of many members from those of some, with a margin that is measured on these."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.forecast import Forecast
from optimiser.search.screen.gaussian_process import KERNELS, GaussianProcess, Kernel

Floats = NDArray[np.float64]
Places = NDArray[np.intp]
Flags = NDArray[np.bool_]

SAFETY: Final = 2.0
"""Margins are so many times the worst error that was measured, in standard deviations. [-]"""

NEAR: Final = 0.08
"""Errors are measured on stacks that miss a limit by no more than this share of the force. [-]"""

ENOUGH: Final = 20
"""On so many stacks at least: those with the same crossovers, then those with the most similar ones. [-]"""

USUAL: Final = 0.9
"""No margin is less than that of this share of all stacks. [-]"""

SETTLED: Final = 500
"""Forecast forces by which the kernel is chosen for good; until then its neighbours are tried again. [-]"""


def _near_the_goal(missed_by: Floats) -> Flags:
    """Stacks that errors are measured on: those near a limit, or all where these are few (known,)."""
    near = missed_by <= NEAR
    return near if near.sum() >= ENOUGH else np.ones(len(missed_by), np.bool_)


class SurrogateForce:
    """Forces as a function of what lies in the slots of one shape, from those that are known.

    Each known force is predicted from all others (leave one out). The worst error, in standard deviations of
    its prediction, gives the margin at each velocity: of stacks with the same or the most similar crossovers,
    since where a gap closes force has a kink, and the surrogate has none.

    Parameters
    ----------
    crossovers : of each kind of crossovers, figures that tell how alike kinds are (kinds, figures).
    widening : how many times as wide as usual margins are.
    """

    def __init__(self, crossovers: Floats, widening: float) -> None:
        self.widening = widening
        # a shape may have no member at all
        spread = crossovers.std(axis=0) if len(crossovers) else np.ones(crossovers.shape[1])
        self._figures = crossovers / np.where(spread > 0, spread, 1.0)
        self._kernels: Sequence[Kernel] = KERNELS

    def fit(self, inputs: Floats, kinds: Places, logs: Floats, missed_by: Floats) -> None:
        """Take in what is known.

        Parameters
        ----------
        inputs : of members (known, figures).
        kinds : of their crossovers (known,).
        logs : logarithms of their forces (known, velocities). [-]
        missed_by : by what share of the force each misses a limit at most, less than zero inside (known,).
        """
        self._process = GaussianProcess(inputs, logs, kernels=self._kernels)
        kernel = self._process.kernel
        self._kernels = (kernel,) if len(logs) >= SETTLED else kernel.neighbours
        near = _near_the_goal(missed_by)
        errors = np.abs(self._process.errors[near]) / self._process.deviations[near, None]
        self._per_deviation = np.maximum(
            self._worst_of_alike(kinds[near], errors),
            np.quantile(errors, USUAL, axis=0),
        )

    def _worst_of_alike(self, kinds: Places, errors: Floats) -> Floats:
        """For each kind the worst of errors (known, velocities) with crossovers like its own."""
        seen, at, counts = np.unique(kinds, return_inverse=True, return_counts=True)
        worst = np.zeros((len(seen), errors.shape[1]))
        np.maximum.at(worst, at, errors)
        found = np.empty((len(self._figures), errors.shape[1]))
        for kind, figures in enumerate(self._figures):
            order = np.argsort(((self._figures[seen] - figures) ** 2).sum(axis=1), kind="stable")
            taken = 1 + int(np.searchsorted(np.cumsum(counts[order]), ENOUGH))
            found[kind] = worst[order[:taken]].max(axis=0)
        return found

    def predict(self, inputs: Floats, kinds: Places) -> Forecast:
        """Forces of members, and by how much they may be wrong."""
        logs, deviations = self._process.predict(inputs)
        wide = self.widening * SAFETY * deviations[:, None]
        return Forecast(logs, wide * self._per_deviation[kinds])

    def covers(self, inputs: Floats) -> Flags:
        """Whether what is the same in all that are known is so in other members, too (members,)."""
        return self._process.covers(inputs)
