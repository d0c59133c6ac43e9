"""Gaussian process regression of several outputs: a surrogate with an estimate of its own error.

C. E. Rasmussen and C. K. I. Williams, "Gaussian Processes for Machine Learning", MIT Press 2006: prediction
by equations (2.25) and (2.26), the Matern kernel by (4.17), leave-one-out errors by (5.12).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky
from scipy.linalg.blas import dtrmm
from scipy.linalg.lapack import dtrtri

Floats = NDArray[np.float64]

LENGTHS: Final = (1.0, 2.0, 4.0, 8.0, 16.0)
"""Lengths of the kernel that are tried, in units of the inputs' own spread. [-]"""

NUGGETS: Final = (1e-6, 1e-5, 1e-4)
"""Variances of what the inputs do not tell that are tried, as shares of that of the process. [-]"""

RIDGE: Final = 1e-3
"""Of the regression that scales the inputs. [-]"""

LEAST_WEIGHT: Final = 0.05
"""Weight of an input that a straight line says does nothing, as a share of the most. [-]"""

OUTLIER: Final = 0.05
"""Errors count as this at most when a length is chosen: far off the goal they may be as they are. [-]"""

ROUNDING: Final = 1e-12
"""Sums of figures that come to nothing are off it by less. [-]"""

ROWS: Final = 512
"""Rows that are predicted at a time, few enough to stay in the processor's cache. [-]"""


@dataclass(frozen=True, slots=True)
class Kernel:
    """How alike two inputs are.

    Parameters
    ----------
    length : over which outputs go along with each other. [-]
    nugget : variance of what the inputs do not tell. [-]
    """

    length: float
    nugget: float

    @property
    def neighbours(self) -> tuple[Kernel, ...]:
        """Itself, and those of the next lengths that are tried."""
        return tuple(Kernel(length, self.nugget) for length in LENGTHS if 0.5 <= length / self.length <= 2.0)

    def between(self, one: Floats, other: Floats) -> Floats:
        """The Matern kernel of order 5/2 between scaled inputs (rows, inputs), (columns, inputs)."""
        away = one @ (-2 * other.T)
        away += (one**2).sum(axis=1)[:, None]
        away += (other**2).sum(axis=1)
        np.maximum(away, 0.0, out=away)
        away *= 5 / self.length**2
        np.sqrt(away, out=away)
        falls = np.exp(-away)
        falls *= 1 + away * (1 + away / 3)
        return falls


KERNELS: Final = tuple(Kernel(*one) for one in product(LENGTHS, NUGGETS))
"""Those that are tried."""


class GaussianProcess:
    """Outputs as a function of inputs, from those that are known at some.

    Parameters
    ----------
    inputs, outputs : that are known (rows, inputs), (rows, outputs).
    kernels : of which the best is used; all of them when left out.

    Attributes
    ----------
    kernel : that is used.
    deviations : standard deviation at each row as the others predict it, but for the outputs' scale (rows,).
    errors : of each row's outputs as the others predict them (rows, outputs).
    """

    def __init__(self, inputs: Floats, outputs: Floats, *, kernels: Sequence[Kernel] = KERNELS) -> None:
        self._middle, self._spread = inputs.mean(axis=0), inputs.std(axis=0)
        self._rounding = 1e-9 * np.abs(inputs).max(axis=0, initial=0.0)
        self._varied = self._spread > self._rounding
        self._mean = outputs.mean(axis=0)
        scaled = self._standard(inputs)
        self._weights = _weights(scaled, outputs - self._mean)
        self._weights /= np.sqrt(((scaled * self._weights) ** 2).sum(axis=1).mean())
        self._rows = scaled * self._weights
        fits = [self._fitted(one, outputs) for one in kernels]
        best = min(range(len(kernels)), key=lambda k: _size(fits[k][3]))
        self.kernel = kernels[best]
        self._unfactored, self._solved, self.deviations, self.errors = fits[best]

    def predict(self, inputs: Floats) -> tuple[Floats, Floats]:
        """Outputs (rows, outputs), and standard deviations but for the outputs' scale (rows,)."""
        outputs, deviations = np.empty((len(inputs), self._mean.size)), np.empty(len(inputs))
        for start in range(0, len(inputs), ROWS):
            part = slice(start, start + ROWS)
            known = self.kernel.between(self._standard(inputs[part]) * self._weights, self._rows)
            outputs[part] = known @ self._solved + self._mean
            told = dtrmm(1.0, self._unfactored, known, side=1, lower=1, trans_a=1)  # half of a full product
            left = 1 + self.kernel.nugget - np.einsum("ij,ij->i", told, told)
            deviations[part] = np.sqrt(np.maximum(left, self.kernel.nugget))
        return outputs, deviations

    def covers(self, inputs: Floats) -> NDArray[np.bool_]:
        """Whether inputs that are the same in all known rows are so in others, too (rows,)."""
        same = ~self._varied
        off = np.abs(inputs[:, same] - self._middle[same])
        return np.asarray((off <= self._rounding[same] + ROUNDING).all(axis=1))

    def _standard(self, inputs: Floats) -> Floats:
        """Inputs that vary at all, from their middle, in units of their spread."""
        varied = self._varied
        return np.asarray((inputs[:, varied] - self._middle[varied]) / self._spread[varied])

    def _fitted(self, kernel: Kernel, outputs: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Inverse of the kernel's factor, what it solves to, and leave-one-out deviations and errors."""
        matrix = kernel.between(self._rows, self._rows)
        matrix[np.diag_indices_from(matrix)] += kernel.nugget
        factor = cholesky(matrix, lower=True, overwrite_a=True, check_finite=False)
        unfactored, _ = dtrtri(factor, lower=1, overwrite_c=1)
        solved = unfactored.T @ (unfactored @ (outputs - self._mean))
        precision = np.einsum("ij,ij->j", unfactored, unfactored)
        return unfactored, solved, 1 / np.sqrt(precision), solved / precision[:, None]


def _weights(scaled: Floats, outputs: Floats) -> Floats:
    """How much each input does, by a straight line through the outputs."""
    count = scaled.shape[1]
    if not count:
        return np.ones(0)
    normal = scaled.T @ scaled + RIDGE * len(scaled) * np.eye(count)
    slopes = np.sqrt((np.linalg.solve(normal, scaled.T @ outputs) ** 2).sum(axis=1))
    return np.asarray(slopes / max(float(slopes.max()), 1e-300) + LEAST_WEIGHT)


def _size(errors: Floats) -> float:
    return float((np.minimum(np.abs(errors), OUTLIER) ** 2).sum())
