"""The straight line is found, and says how well each known row is predicted from the others."""

from __future__ import annotations

import numpy as np
import pytest

from optimiser.search.screen import straight_line
from optimiser.search.screen.straight_line import StraightLine

RNG = np.random.default_rng(4)
INPUTS = RNG.uniform(-1, 1, (400, 5))
ALL = np.ones(400, np.bool_)


def nearly_straight(inputs: np.ndarray) -> np.ndarray:
    bent = 0.02 * np.sin(3 * inputs[:, 0]) * inputs[:, 1]
    return np.stack([inputs @ [0.1, 0.2, -0.1, 0.05, 0.0] + bent, inputs @ [0.0, 0.1, 0.3, 0.0, 0.1]], axis=1)


def test_a_straight_line_is_found_beside_one_that_is_bent() -> None:
    outputs = nearly_straight(INPUTS)
    line = StraightLine(INPUTS[:150], outputs[:150], counts=np.ones(150), near=ALL[:150])
    off = np.abs(line.rows(INPUTS) @ line.slopes - outputs)[150:]
    assert off[:, 1].max() < 1e-4
    assert 0.005 < off[:, 0].max() < 0.03


def test_left_out_rows_are_predicted_as_by_lines_without_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """Against fitting the line anew without each row, by least squares with the prior as rows of its own."""
    monkeypatch.setattr(straight_line, "PRIORS", (1e-2,))
    inputs, outputs = INPUTS[:40], nearly_straight(INPUTS[:40])
    counts = np.where(np.arange(40) % 3, 1.0, 0.1)
    line = StraightLine(inputs, outputs, counts=counts, near=ALL[:40])
    rows = np.column_stack([np.ones(40), (inputs - inputs.mean(axis=0)) / inputs.std(axis=0)])
    for left_out in range(40):
        rest = np.delete(np.arange(40), left_out)
        system = np.concatenate([np.sqrt(counts[rest, None]) * rows[rest], np.sqrt(1e-2) * np.eye(6)])
        known = np.concatenate([np.sqrt(counts[rest, None]) * outputs[rest], np.zeros((6, 2))])
        slopes = np.linalg.lstsq(system, known, rcond=None)[0]
        told = rows[left_out] @ np.linalg.solve(system.T @ system, rows[left_out])
        assert line.left_out[left_out] == pytest.approx(rows[left_out] @ slopes)
        assert line.deviations[left_out] == pytest.approx(np.sqrt(1 + told))


def test_rows_far_from_what_is_known_are_known_less_well() -> None:
    line = StraightLine(INPUTS[:150], nearly_straight(INPUTS[:150]), counts=np.ones(150), near=ALL[:150])
    assert (
        line.deviations_at(line.rows(20 * INPUTS)).mean() > 2 * line.deviations_at(line.rows(INPUTS)).mean()
    )
