"""The additive model rules out what violates a constraint by more than it may be wrong, and nothing that keeps all."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.search.screen.additive_model import AdditiveModel
from optimiser.search.screen.constraints import Constraints

RNG = np.random.default_rng(6)
INPUTS = RNG.uniform(-1, 1, (900, 6))
SLOPES = RNG.normal(size=(6, 2)) * [0.3, 0.3]
NO_ERROR = np.zeros(2)


def logs_of(inputs: np.ndarray, *, common: float, apart: float) -> np.ndarray:
    """Nearly linear: what is not moves both forces alike by ``common``, and one against the other by ``apart``."""
    first, second = (inputs @ SLOPES).T
    bent = np.sin(5 * inputs[:, 0]) * inputs[:, 1]
    return np.stack([first + common * bent, first + 0.1 * second + (common + apart) * bent], axis=1)


def model(logs: np.ndarray, ends: list[float], *, widening: float = 1.0) -> AdditiveModel:
    rows = np.array([[1.0, 0.0], [-1.0, 0.0], [-1.0, 1.0]])
    return AdditiveModel(
        INPUTS[:300], logs[:300], NO_ERROR, Constraints(rows, np.array(ends)), widening=widening
    )


def test_of_those_that_keep_all_constraints_none_is_ruled_out_and_of_the_others_most_are() -> None:
    logs = logs_of(INPUTS, common=0.01, apart=0.001)
    one = model(logs, [0.1, 0.1, 0.02])
    keeps = (logs[:, 0] <= 0.1) & (logs[:, 0] >= -0.1) & (logs[:, 1] - logs[:, 0] <= 0.02)
    out = one.excess(INPUTS) >= 0
    assert not (out & keeps).any()
    assert out[~keeps].mean() > 0.6
    assert 10 < keeps.sum() < 600


def test_what_goes_along_at_both_velocities_does_no_harm_to_their_ratio() -> None:
    """Forces off the line by a fifth leave a ratio that is off by a thousandth: it alone rules out."""
    logs = logs_of(INPUTS, common=0.2, apart=0.001)
    low = float((logs[:, 1] - logs[:, 0]).min()) - 0.05
    one = model(logs, [0.1, 0.1, low])
    assert (one.excess(INPUTS[300:]) >= 0).all()
    alone = model(logs, [0.1, 0.1, 10.0])
    assert (alone.excess(INPUTS[300:]) >= 0).mean() < 0.7


def test_wider_margins_rule_out_less_and_an_error_of_what_is_known_does_so_too() -> None:
    logs = logs_of(INPUTS, common=0.05, apart=0.02)
    ends = [0.1, 0.1, 0.02]
    narrow, wide = model(logs, ends), model(logs, ends, widening=3.0)
    assert (wide.excess(INPUTS) >= 0).sum() < (narrow.excess(INPUTS) >= 0).sum()
    rows = np.array([[1.0, 0.0], [-1.0, 0.0], [-1.0, 1.0]])
    unsure = AdditiveModel(
        INPUTS[:300], logs[:300], np.array([0.02, 0.03]), Constraints(rows, np.array(ends)), widening=1.0
    )
    assert set(unsure.margins.errors.round(9)) <= {0.02, 0.05}
    assert (unsure.excess(INPUTS) >= 0).sum() < (narrow.excess(INPUTS) >= 0).sum()


def test_a_model_that_is_far_too_rough_rules_out_nothing_and_says_so() -> None:
    logs = RNG.normal(size=(900, 2))
    one = model(logs, [3.0, 3.0, 3.0])
    assert one.margins.errors.size == 0
    assert one.excess(INPUTS) == pytest.approx(-1.0)
