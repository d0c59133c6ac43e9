"""Draws that keep to the limits of a standard, where a fit took them for normal."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from optimiser.unknowns.unknown import RECTANGULAR_END

Floats = NDArray[np.float64]

SWEEPS: Final = 30
"""Times that draws are moved in every direction; for two figures that are told together a dozen do. [-]"""

FLATTEST: Final = 1e-3
"""What runs say in any direction is taken as at least this precise. [-]"""


def within_limits(draws: Floats, *, mean: Floats, covariance: Floats, rng: np.random.Generator) -> Floats:
    r"""The same draws, moved to where each figure lies evenly between its limits before the runs.

    A fit is least squares: it takes a rectangle between :math:`\pm\sqrt3` as the normal distribution of the
    same standard deviation, 1. What it hands on is that times what the runs say, and here the one is
    exchanged for the other. So two thicknesses that runs tell only together bound each other: where their
    sum is far up, both are.

    Parameters
    ----------
    draws : normal, of the figures that have limits (draws, figures). [-]
    mean, covariance : that they are drawn with. [-]
    rng : of the sample.

    Notes
    -----
    With P the inverse of the covariance, the density is that of the normal times :math:`\exp(|z|^2/2)` inside
    the limits of every figure, and 0 outside. Draws are moved in one direction after the other, each by a
    normal distribution cut at the limits; repeated, that gives the joint distribution [1]_. The directions
    are the figures themselves and the principal axes of what the runs say, so that draws move far where the
    runs say little.

    References
    ----------
    .. [1] S. Geman and D. Geman, "Stochastic relaxation, Gibbs distributions, and the Bayesian restoration of
       images", IEEE Trans. Pattern Anal. Mach. Intell. 6 (1984) 721-741.
    """
    precise = np.linalg.pinv(covariance, hermitian=True)
    told = precise - np.eye(mean.size)
    towards = precise @ mean
    directions = np.concatenate([np.linalg.eigh(told)[1].T, np.eye(mean.size)])
    count = len(draws)
    found = np.clip(draws, -RECTANGULAR_END, RECTANGULAR_END)
    for _ in range(SWEEPS):
        for direction in directions:
            own = max(float(direction @ told @ direction), FLATTEST)
            middle = (direction @ towards - found @ (told @ direction)) / own
            step = _cut_normal(middle, 1 / np.sqrt(own), _room(found, direction), rng.random(count))
            found = np.clip(found + step[:, None] * direction, -RECTANGULAR_END, RECTANGULAR_END)
    return found


def _room(draws: Floats, direction: Floats) -> tuple[Floats, Floats]:
    """How far each draw may move back and forth in a direction until a figure is at a limit."""
    moving = np.abs(direction) > 1e-9
    there, towards = draws[:, moving], direction[moving]
    ends = np.sort([(end - there) / towards for end in (-RECTANGULAR_END, RECTANGULAR_END)], axis=0)
    return ends[0].max(axis=1), ends[1].min(axis=1)


def _cut_normal(middle: Floats, deviation: float, room: tuple[Floats, Floats], shares: Floats) -> Floats:
    """Where shares of a normal distribution that is cut off at two ends lie below."""
    # the tail that is cut from is turned to be the lower one, which keeps its digits
    side = np.where(middle < (room[0] + room[1]) / 2, -1.0, 1.0)
    low, high = np.sort([side * end for end in room], axis=0)
    below, above = (ndtr((end - side * middle) / deviation) for end in (low, high))
    with np.errstate(invalid="ignore"):
        found = side * middle + deviation * ndtri(below + shares * (above - below))
    found = np.where(above > 0, found, high)  # so far beyond that only the end is left
    return np.asarray(side * np.clip(found, low, high))
