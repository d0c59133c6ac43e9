"""What no figure explains: smooth over velocity, of a size that runs decide."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.fit.discrepancy import KNOTS, USUAL, basis, size_of, surest

SPEEDS = np.geomspace(0.02, 2.0, 9)
BOTH = np.concatenate([-SPEEDS, SPEEDS])
ALL = np.tile(BOTH, 4)
NOISE = 0.002**2 * np.eye(ALL.size)
LEVEL = np.ones((ALL.size, 1)) * 0.05


def test_shares_of_the_knots_add_up_to_one_in_each_stroke_alone() -> None:
    shapes = basis(BOTH)
    assert shapes.sum(axis=1) == pytest.approx(np.ones(BOTH.size))
    half = len(KNOTS)
    assert not shapes[: SPEEDS.size, :half].any()
    assert not shapes[SPEEDS.size :, half:].any()
    assert basis(np.array([KNOTS[2], -KNOTS[0]]))[:, [2, half]] == pytest.approx(np.eye(2))


def test_beyond_the_outer_knots_it_stays_as_it_is_there() -> None:
    assert basis(np.array([0.001, 9.0])) == pytest.approx(basis(np.array([KNOTS[0], KNOTS[-1]])))


@pytest.mark.parametrize("true", [0.01, 0.03, 0.06])
def test_its_size_is_found_again_from_what_figures_do_not_explain(true: float) -> None:
    rng = np.random.default_rng(3)
    found = [
        size_of(
            basis(ALL) @ rng.normal(0, true, 2 * len(KNOTS)) + rng.normal(0, 0.002, ALL.size),
            slopes=LEVEL,
            noise=NOISE,
            shapes=basis(ALL),
        )
        for _ in range(20)
    ]
    assert np.median(found) == pytest.approx(true, rel=0.35)


def test_runs_without_one_make_it_small_and_runs_that_say_nothing_leave_it_usual() -> None:
    rng = np.random.default_rng(4)
    clean = size_of(rng.normal(0, 0.002, ALL.size), slopes=LEVEL, noise=NOISE, shapes=basis(ALL))
    assert clean < 0.006
    loud = size_of(rng.normal(0, 1, 4), slopes=np.ones((4, 1)), noise=np.eye(4), shapes=basis(SPEEDS[:4]))
    # the root of the mean square of an exponential distribution is the root of 2 of its mean
    assert loud == pytest.approx(np.sqrt(2) * USUAL, rel=0.2)


def test_the_surest_is_the_largest_beyond_its_spread_where_somebody_measured() -> None:
    knots = np.zeros(2 * len(KNOTS))
    knots[[0, 1, len(KNOTS) + 3]] = 0.5, 0.09, -0.08
    covariance = 0.01**2 * np.eye(knots.size)
    covariance[1, 1] = 0.05**2
    measured = np.array([KNOTS[1], -KNOTS[3], KNOTS[4]])
    assert surest(measured, knots=knots, covariance=covariance) == (-KNOTS[3], pytest.approx(-0.08))
