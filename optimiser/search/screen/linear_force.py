"""Forces of members with one kind of crossover by a straight line, with a margin that is measured: fast.

Linear regression with a normal prior, as in C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for
Machine Learning", MIT Press 2006, section 2.1: prediction by equation (2.9), here with an error of each known
force that grows with its distance from the goal, so that the line is best where it matters.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.forecast import Forecast
from optimiser.search.screen.surrogate_force import SAFETY, near_the_goal

Floats = NDArray[np.float64]

PRIORS: Final = (1e-4, 1e-3, 1e-2, 1e-1)
"""Precisions of slopes that are tried, in units of what a known force near the goal tells. [-]"""

NEAREST: Final = 0.02
"""Known forces that miss a limit by no more than this share count in full. [-]"""


class LinearForce:
    """A straight line through the logarithms of known forces.

    As with :class:`SurrogateForce` each is predicted from all others, and the worst error near the goal, in
    standard deviations of its prediction, gives the margin at each velocity.

    Parameters
    ----------
    inputs : of members whose force is known (known, figures).
    logs : logarithms of their forces (known, velocities). [-]
    missed_by : by what share of the force each misses a limit at most, less than zero inside (known,).
    widening : how many times as wide as usual margins are.
    """

    def __init__(self, inputs: Floats, logs: Floats, missed_by: Floats, widening: float) -> None:
        spread = inputs.std(axis=0)
        self._varied = spread > 1e-9 * np.abs(inputs).max(axis=0, initial=0.0)
        self._middle, self._spread = inputs[:, self._varied].mean(axis=0), spread[self._varied]
        rows, near = self._standard(inputs), near_the_goal(missed_by)
        counts = (NEAREST / np.maximum(missed_by, NEAREST)) ** 2
        normal, right = rows.T @ (rows * counts[:, None]), rows.T @ (logs * counts[:, None])
        least = np.inf
        for prior in PRIORS:
            inverse = np.linalg.inv(normal + prior * np.eye(len(normal)))
            slopes = inverse @ right
            told = np.einsum("ij,jk,ik->i", rows, inverse, rows)
            others = 1 - counts * told  # as Sherman and Morrison have it, without the row itself
            errors = np.abs(logs - rows @ slopes) / others[:, None]
            size = float((errors[near] ** 2).sum())
            if size < least:
                least, self._slopes, self._factor = size, slopes, np.linalg.cholesky(inverse)
                worst = (errors / np.sqrt(1 + told / others)[:, None])[near].max(axis=0)
        self._per_deviation = widening * SAFETY * worst

    def predict(self, inputs: Floats) -> Forecast:
        """Forces of members, and by how much they may be wrong."""
        rows = self._standard(inputs)
        told = rows @ self._factor
        deviations = np.sqrt(1 + np.einsum("ij,ij->i", told, told))
        return Forecast(rows @ self._slopes, deviations[:, None] * self._per_deviation)

    def _standard(self, inputs: Floats) -> Floats:
        """One, then inputs that vary at all, from their middle, in units of their spread."""
        rows = np.empty((len(inputs), 1 + len(self._middle)))
        rows[:, 0] = 1.0
        np.divide(inputs[:, self._varied] - self._middle, self._spread, out=rows[:, 1:])
        return rows
