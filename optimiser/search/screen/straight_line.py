"""A straight line through several outputs, with the errors of lines that do not know the row they predict.

Linear regression with a normal prior, as in C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for
Machine Learning", MIT Press 2006, section 2.1: prediction by equation (2.9).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

PRIORS: Final = (1e-4, 1e-3, 1e-2, 1e-1)
"""Precisions of slopes that are tried, in units of what a known row that counts in full tells. [-]"""


class StraightLine:
    """Outputs as a linear function of inputs, from those that are known at some.

    Parameters
    ----------
    inputs, outputs : that are known (rows, inputs), (rows, outputs).
    counts : how much each row counts (rows,). [-]
    near : rows on which the prior is chosen (rows,).

    Attributes
    ----------
    slopes : of a constant, then of the inputs that vary (1 + varied, outputs).
    factor : Cholesky factor of the slopes' covariance but for the outputs' scale (1 + varied, 1 + varied).
    left_out : outputs of each row as the others predict them (rows, outputs).
    deviations : standard deviation of these but for the outputs' scale (rows,).
    """

    def __init__(self, inputs: Floats, outputs: Floats, *, counts: Floats, near: NDArray[np.bool_]) -> None:
        spread = inputs.std(axis=0)
        self._varied = spread > 1e-9 * np.abs(inputs).max(axis=0, initial=0.0)
        self._middle, self._spread = inputs[:, self._varied].mean(axis=0), spread[self._varied]
        self._same = inputs[0]
        self._weights = np.where(
            self._varied, 0.0, np.random.default_rng(0).uniform(1.0, 2.0, self._varied.size)
        )
        rows = self.rows(inputs)
        normal, right = rows.T @ (rows * counts[:, None]), rows.T @ (outputs * counts[:, None])
        least = np.inf
        for prior in PRIORS:
            inverse = np.linalg.inv(normal + prior * np.eye(len(normal)))
            slopes = inverse @ right
            told = np.einsum("ij,jk,ik->i", rows, inverse, rows)
            others = 1 - counts * told  # as Sherman and Morrison have it, without the row itself
            errors = (rows @ slopes - outputs) / others[:, None]
            size = float((errors[near] ** 2).sum())
            if size < least:
                least, self.slopes, self.factor = size, slopes, np.linalg.cholesky(inverse)
                self.left_out, self.deviations = outputs + errors, np.sqrt(1 + told / others)

    def rows(self, inputs: Floats) -> Floats:
        """One, then inputs that vary at all, from their middle, in units of their spread."""
        rows = np.empty((len(inputs), 1 + len(self._middle)))
        rows[:, 0] = 1.0
        np.divide(inputs[:, self._varied] - self._middle, self._spread, out=rows[:, 1:])
        return rows

    def deviations_at(self, rows: Floats) -> Floats:
        """Standard deviations of predictions from such rows, but for the outputs' scale (rows,)."""
        told = rows @ self.factor
        return np.asarray(np.sqrt(1 + np.einsum("ij,ij->i", told, told)))

    def steps(self, inputs: Floats) -> Floats:
        """What is added to :meth:`rows` by adding to the inputs, where these vary (rows, 1 + varied)."""
        rows = np.zeros((len(inputs), 1 + len(self._middle)))
        np.divide(inputs[:, self._varied], self._spread, out=rows[:, 1:])
        return rows

    def unlike(self, inputs: Floats) -> Floats:
        """A figure of each row, 0 where what is the same in all known rows is so in it, too (rows,).

        It is linear in what differs, with weights drawn at random, so that differences hardly ever cancel.
        """
        return np.asarray((inputs - self._same) @ self._weights)

    def unlike_steps(self, inputs: Floats) -> Floats:
        """What is added to it by adding to the inputs (rows,)."""
        return np.asarray(inputs @ self._weights)
