"""The straight line predicts each known force from the others as it says, and its margins hold nearly all others."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.search.screen import straight_line
from optimiser.search.screen.linear_force import LinearForce
from optimiser.search.screen.surrogate_force import SAFETY

RNG = np.random.default_rng(4)
INPUTS = RNG.uniform(-1, 1, (400, 5))
NEAR = np.zeros(400)


def nearly_straight(inputs: np.ndarray) -> np.ndarray:
    bent = 0.02 * np.sin(3 * inputs[:, 0]) * inputs[:, 1]
    return np.stack([inputs @ [0.1, 0.2, -0.1, 0.05, 0.0] + bent, inputs @ [0.0, 0.1, 0.3, 0.0, 0.1]], axis=1)


def test_a_straight_line_is_found_and_what_is_bent_lies_within_the_margin() -> None:
    forces = nearly_straight(INPUTS)
    line = LinearForce(INPUTS[:150], forces[:150], NEAR[:150], 1.0)
    found = line.predict(INPUTS)
    assert found.logs[:, 1] == pytest.approx(forces[:, 1], abs=1e-4)
    off = np.abs(found.logs - forces)[150:]
    assert 0.005 < off[:, 0].max() < found.margins[150:, 0].min()
    twice = LinearForce(INPUTS[:150], forces[:150], NEAR[:150], 2.0).predict(INPUTS)
    assert twice.margins == pytest.approx(2 * found.margins)


def test_the_margin_is_that_of_lines_without_the_row_that_is_predicted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Against fitting the line anew without each row, by least squares with the prior as rows of its own."""
    monkeypatch.setattr(straight_line, "PRIORS", (1e-2,))
    inputs, forces = INPUTS[:40], nearly_straight(INPUTS[:40])
    missed_by = np.where(np.arange(40) % 3, 0.0, 0.06)
    line = LinearForce(inputs, forces, missed_by, 1.0)
    rows = np.column_stack([np.ones(40), (inputs - inputs.mean(axis=0)) / inputs.std(axis=0)])
    counts = np.where(missed_by > 0, (0.02 / 0.06) ** 2, 1.0)
    shares = []
    for left_out in range(40):
        rest = np.delete(np.arange(40), left_out)
        system = np.concatenate([np.sqrt(counts[rest, None]) * rows[rest], np.sqrt(1e-2) * np.eye(6)])
        known = np.concatenate([np.sqrt(counts[rest, None]) * forces[rest], np.zeros((6, 2))])
        slopes = np.linalg.lstsq(system, known, rcond=None)[0]
        told = rows[left_out] @ np.linalg.solve(system.T @ system, rows[left_out])
        shares.append(np.abs(forces[left_out] - rows[left_out] @ slopes) / np.sqrt(1 + told))
    assert line._per_deviation == pytest.approx(SAFETY * np.max(shares, axis=0))


def test_members_far_from_what_is_known_have_wider_margins() -> None:
    line = LinearForce(INPUTS[:150], nearly_straight(INPUTS[:150]), NEAR[:150], 1.0)
    assert line.predict(20 * INPUTS).margins.mean() > 2 * line.predict(INPUTS).margins.mean()
