"""The model's own error of a change: its size, what two velocities share of it, and that strokes share none."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.spread.model_uncertainty import NO_MODEL_UNCERTAINTY, ModelUncertainty

VELOCITIES = np.array([0.03, 0.3, 3.0, -0.3])
ERROR = ModelUncertainty(of_the_change=0.05)
FACTORS = ERROR.factors(VELOCITIES, np.random.default_rng(1).standard_normal((200_000, ERROR.draws)))


def test_the_error_is_as_large_at_every_velocity() -> None:
    assert FACTORS.mean(axis=0) == pytest.approx(np.ones(4), abs=1e-3)
    assert FACTORS.std(axis=0) == pytest.approx(np.full(4, 0.05), rel=0.01)


def test_velocities_a_decade_apart_share_half_of_it_and_two_apart_nothing() -> None:
    shared = np.asarray(np.corrcoef(FACTORS.T))
    assert shared[0, 1] == pytest.approx(0.5, abs=0.01)
    assert shared[0, 2] == pytest.approx(0.0, abs=0.01)


def test_strokes_share_nothing() -> None:
    assert np.asarray(np.corrcoef(FACTORS.T))[1, 3] == pytest.approx(0.0, abs=0.01)


def test_a_model_without_error_leaves_every_change_as_it_is() -> None:
    factors = NO_MODEL_UNCERTAINTY.factors(VELOCITIES, np.ones((3, NO_MODEL_UNCERTAINTY.draws)))
    assert (factors == 1).all()
