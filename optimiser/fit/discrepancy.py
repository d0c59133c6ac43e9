"""The smooth part of a damper's damping that no figure of the model explains, and how large it may be."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

Floats = NDArray[np.float64]

KNOTS: Final = (0.02, 0.06, 0.2, 0.6, 2.0)
"""Where the discrepancy of a stroke may stand anywhere; straight between their logarithms. [m/s]"""

USUAL: Final = 0.02
"""How large a discrepancy is before a run: mean of an exponential distribution; our choice. [-]"""

SIZES: Final = (0.003, 0.006, 0.01, 0.015, 0.02, 0.03, 0.045, 0.065, 0.1, 0.15)
"""Sizes that are weighed against one another. [-]"""


def basis(velocities: Floats) -> Floats:
    """Share of every knot in the discrepancy at each velocity: first compression's, then rebound's.

    Parameters
    ----------
    velocities : of the shaft, positive in compression (points,). [m/s]

    Returns
    -------
    (points, 2 x knots), between 0 and 1, each row adding up to 1.
    """
    places = np.interp(np.log(np.abs(velocities)), np.log(KNOTS), np.arange(len(KNOTS)))
    hats = np.maximum(0.0, 1.0 - np.abs(places[:, None] - np.arange(len(KNOTS))))
    pushed = (velocities > 0)[:, None]
    return np.hstack([np.where(pushed, hats, 0.0), np.where(pushed, 0.0, hats)])


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Discrepancy:
    """What is left of the runs once every figure stands at its best, smooth over velocity.

    Parameters
    ----------
    size : standard deviation that it has at a knot before a run. [-]
    knots : logarithm of measured over computed damping at each knot, compression's first (2 x knots,). [-]
    spread : standard deviation of each. [-]
    """

    size: float
    knots: Floats
    spread: Floats


def surest(velocities: Floats, *, knots: Floats, covariance: Floats) -> tuple[float, float]:
    """Where a discrepancy is largest beyond its own spread, and how large there. [m/s, -]

    Parameters
    ----------
    velocities : where the force was measured: elsewhere nothing is known (points,). [m/s]
    knots : the discrepancy at each knot (knots,). [-]
    covariance : of these (knots, knots). [-]
    """
    shapes = basis(velocities)
    there = shapes @ knots
    spread = np.sqrt(np.maximum(np.einsum("ij,jk,ik->i", shapes, covariance, shapes), 0.0))
    place = int((np.abs(there) - spread).argmax())
    return float(velocities[place]), float(there[place])


def size_of(residual: Floats, *, slopes: Floats, noise: Floats, shapes: Floats) -> float:
    """Root of the mean square of the sizes that a discrepancy may have, weighed by what runs say. [-]

    Parameters
    ----------
    residual : measured less computed logarithms with every unknown at its prior, by the slopes (points,).
    slopes : change of the logarithms by the draws of the unknowns (points, unknowns).
    noise : covariance of the measured logarithms (points, points).
    shapes : the discrepancy's basis at the points (points, knots).

    Notes
    -----
    Linear and normal: each size makes the residual normal with a known covariance, and so has a likelihood;
    with the exponential distribution of :data:`USUAL` before it, the sizes are averaged over.
    """
    known = noise + slopes @ slopes.T
    weights = []
    for size in SIZES:
        lower = np.linalg.cholesky(known + size**2 * shapes @ shapes.T)
        white = solve_triangular(lower, residual, lower=True)
        weights.append(-0.5 * float(white @ white) - float(np.log(np.diag(lower)).sum()) - size / USUAL)
    # sizes lie about evenly by their logarithm: an even weight by size takes the size as a factor
    found = np.array(weights) + np.log(SIZES)
    share = np.exp(found - found.max())
    return math.sqrt(float((share * np.square(SIZES)).sum() / share.sum()))
