"""Draws of figures that lie between limits and that runs tell only together, against sums over a grid."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.spread.directions import Directions
from optimiser.spread.within_limits import within_limits
from optimiser.unknowns.knowledge import Knowledge
from optimiser.unknowns.unknown import RECTANGULAR_END, Distribution, Owner, Unknown

Floats = np.ndarray


def posterior(slopes: Floats, seen: Floats, spread: float) -> tuple[Floats, Floats]:
    """Mean and covariance after runs of a linear model, every figure taken as normal before."""
    covariance = np.linalg.inv(np.eye(slopes.shape[1]) + slopes.T @ slopes / spread**2)
    return covariance @ slopes.T @ seen / spread**2, covariance


def on_a_grid(slopes: Floats, seen: Floats, spread: float) -> tuple[Floats, Floats]:
    """Mean and covariance with two figures evenly between their limits before, by adding up (Bayes)."""
    line = np.linspace(-RECTANGULAR_END, RECTANGULAR_END, 801)
    both = np.stack(np.meshgrid(line, line, indexing="ij"), axis=-1).reshape(-1, 2)
    weights = np.exp(-0.5 * np.square((seen - both @ slopes.T) / spread).sum(axis=1))
    weights /= weights.sum()
    mean = weights @ both
    return mean, (weights[:, None] * (both - mean)).T @ (both - mean)


@pytest.mark.parametrize("seen", [0.0, 1.0, 2.6, -3.3])
def test_two_thicknesses_that_are_told_together_bound_each_other(seen: float) -> None:
    """Their sum is told to a tenth: near the middle they are less sure than normal ones, far up surer."""
    slopes, spread = np.array([[1.0, 1.0]]), 0.1
    mean, covariance = posterior(slopes, np.array([seen]), spread)
    rng = np.random.default_rng(5)
    drawn = within_limits(
        rng.multivariate_normal(mean, covariance, 8000), mean=mean, covariance=covariance, rng=rng
    )
    wanted_mean, wanted = on_a_grid(slopes, np.array([seen]), spread)
    assert np.abs(drawn).max() <= RECTANGULAR_END
    assert drawn.mean(axis=0) == pytest.approx(wanted_mean, abs=0.05)
    assert np.sqrt(np.diag(np.cov(drawn.T))) == pytest.approx(np.sqrt(np.diag(wanted)), rel=0.05)
    across = np.array([1.0, -1.0])
    surer = across @ np.cov(drawn.T) @ across < across @ covariance @ across
    assert surer == (abs(seen) > 2)


def test_where_runs_say_nothing_draws_lie_evenly_between_the_limits() -> None:
    rng = np.random.default_rng(6)
    drawn = within_limits(rng.standard_normal((4000, 1)), mean=np.zeros(1), covariance=np.eye(1), rng=rng)
    shares = np.sort((drawn[:, 0] / RECTANGULAR_END + 1) / 2)
    assert np.abs(shares - np.linspace(0, 1, 4000)).max() < 0.03  # Kolmogorov's distance, one in a thousand


def test_a_figure_that_hangs_together_with_a_limited_one_follows_it() -> None:
    shim = Unknown(
        owner=Owner.SHIMS_INSIDE,
        figure="100",
        words="thickness",
        uncertainty=3e-6,
        distribution=Distribution.RECTANGULAR,
    )
    steel = Unknown(owner=Owner.STEEL, figure="youngs_modulus", words="modulus", uncertainty=0.02)
    mean, covariance = posterior(np.array([[1.0, 1.0]]), np.array([3.0]), 0.2)
    found = Directions.of(Knowledge(unknowns=(shim, steel), mean=mean, covariance=covariance))
    draws = found.mean + found.sample(4000, np.random.default_rng(7)) @ found.axes
    assert np.abs(draws[:, 0]).max() <= RECTANGULAR_END + 1e-9
    assert draws.sum(axis=1).std() == pytest.approx(0.2, rel=0.05)
    line = np.linspace(-RECTANGULAR_END, RECTANGULAR_END, 2001)
    weights = np.exp(-0.5 * np.square(3.0 - line) / (1 + 0.2**2))  # the modulus integrated out
    assert draws[:, 0].mean() == pytest.approx(float(weights @ line / weights.sum()), abs=0.03)
