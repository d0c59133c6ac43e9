"""Independent directions of what is known, and samples of them."""

from __future__ import annotations

import numpy as np

from optimiser.spread.directions import Directions
from optimiser.unknowns.knowledge import Knowledge
from optimiser.unknowns.unknown import RECTANGULAR_END, Distribution, Owner, Unknown

UNKNOWNS = (
    Unknown(owner=Owner.OIL, figure="viscosity", words="viscosity", uncertainty=0.05),
    Unknown(owner=Owner.STEEL, figure="youngs_modulus", words="modulus", uncertainty=0.02),
    Unknown(
        owner=Owner.SHIMS_INSIDE,
        figure="100",
        words="thickness",
        uncertainty=3e-6,
        distribution=Distribution.RECTANGULAR,
    ),
)


def fitted() -> Knowledge:
    covariance = np.array([[0.5, -0.4, 0.0], [-0.4, 0.6, 0.0], [0.0, 0.0, 1.0]])
    return Knowledge(unknowns=UNKNOWNS, mean=np.array([0.3, -0.2, 0.0]), covariance=covariance)


def test_without_a_fit_each_direction_is_one_figure() -> None:
    found = Directions.of(Knowledge.prior(UNKNOWNS))
    assert found.draws({1: 2.0}) == {UNKNOWNS[0]: 0.0, UNKNOWNS[1]: 2.0, UNKNOWNS[2]: 0.0}
    assert found.moved_most == UNKNOWNS
    assert found.even.tolist() == [False, False, True]


def test_what_a_fit_has_coupled_moves_together_and_has_its_covariance_and_mean() -> None:
    known = fitted()
    found = Directions.of(known)
    assert np.allclose(found.axes.T @ found.axes, known.covariance)
    steps = found.sample(4000, np.random.default_rng(1))
    draws = found.mean + steps @ found.axes
    assert np.allclose(draws.mean(axis=0), known.mean, atol=0.01)
    assert np.allclose(np.cov(draws.T), known.covariance, atol=0.03)


def test_a_sample_has_one_draw_in_every_slice_of_equal_chance_of_each_direction() -> None:
    steps = Directions.of(Knowledge.prior(UNKNOWNS)).sample(100, np.random.default_rng(2), further=2)
    assert steps.shape == (100, 5)
    between = np.sort((steps[:, 2] / RECTANGULAR_END + 1) / 2)
    assert (np.floor(100 * between) == np.arange(100)).all()
    assert np.allclose(steps.mean(axis=0), 0, atol=0.02)
    assert np.allclose(steps.std(axis=0), 1, atol=0.05)
