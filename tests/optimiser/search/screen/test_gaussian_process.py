"""The surrogate predicts what it knows, says how unsure it is, and its leave-one-out errors are what they are."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.search.screen.gaussian_process import GaussianProcess, Kernel

RNG = np.random.default_rng(3)
INPUTS = RNG.uniform(-1, 1, (120, 3))


def smooth(inputs: np.ndarray) -> np.ndarray:
    one, two, three = inputs.T
    return np.stack([np.sin(2 * one) + two * (1 + three), np.exp(one) + three - 0.3 * three**2], axis=1)


def test_what_is_known_is_predicted_as_it_is_and_what_lies_between_nearly() -> None:
    process = GaussianProcess(INPUTS, smooth(INPUTS))
    known, sure = process.predict(INPUTS)
    assert known == pytest.approx(smooth(INPUTS), abs=0.02)
    between = RNG.uniform(-0.9, 0.9, (300, 3))
    found, _ = process.predict(between)
    assert np.abs(found - smooth(between)).max() < 0.1
    _, beyond = process.predict(2 * between)
    assert beyond.mean() > 2 * sure.mean()


def test_far_from_what_is_known_it_knows_nothing() -> None:
    _, deviations = GaussianProcess(INPUTS, smooth(INPUTS), kernels=[Kernel(1.0, 1e-6)]).predict(
        np.full((1, 3), 40.0)
    )
    assert deviations[0] == pytest.approx(1.0, abs=1e-3)


def test_leave_one_out_is_what_a_process_without_that_row_predicts() -> None:
    """Equation (5.12) of Rasmussen and Williams against solving the smaller system itself."""
    outputs, kernel = smooth(INPUTS), Kernel(2.0, 1e-4)
    process = GaussianProcess(INPUTS, outputs, kernels=[kernel])
    rows, mean = process._rows, outputs.mean(axis=0)
    for left_out in (0, 17, 119):
        rest = np.delete(np.arange(len(rows)), left_out)
        matrix = kernel.between(rows[rest], rows[rest]) + kernel.nugget * np.eye(len(rest))
        row = kernel.between(rows[[left_out]], rows[rest])[0]
        predicted = row @ np.linalg.solve(matrix, outputs[rest] - mean) + mean
        variance = 1 + kernel.nugget - row @ np.linalg.solve(matrix, row)
        assert process.errors[left_out] == pytest.approx(outputs[left_out] - predicted, abs=1e-9)
        assert process.deviations[left_out] == pytest.approx(np.sqrt(variance), rel=1e-6)


def test_inputs_that_never_vary_are_as_good_as_absent() -> None:
    more = np.concatenate([INPUTS, np.full((120, 2), 5.0)], axis=1)
    one = GaussianProcess(INPUTS, smooth(INPUTS)).predict(INPUTS[:9] * 0.7)
    other = GaussianProcess(more, smooth(INPUTS)).predict(more[:9] * [0.7, 0.7, 0.7, 1.0, 1.0])
    assert other[0] == pytest.approx(one[0])
    assert other[1] == pytest.approx(one[1])
