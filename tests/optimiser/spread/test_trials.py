"""A damper moved along every direction, and what lies between the steps that are tried."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from damping_model.stack.steel import SpringSteel
from optimiser.files.damper_builder import read_damper
from optimiser.model.unmeasured import Unmeasured
from optimiser.spread.directions import Directions
from optimiser.spread.trials import Trials
from optimiser.unknowns.damper_unknowns import damper_unknowns
from optimiser.unknowns.knowledge import Knowledge
from tests.helpers.paths import DEMO

DESCRIBED = read_damper(DEMO / "dampers" / "tarn_shock.toml")


def trials(*noted: Unmeasured, unlimited: bool = False) -> Trials:
    unknowns = damper_unknowns(replace(DESCRIBED, not_measured=noted))
    if unlimited:
        unknowns = tuple(replace(one, limits=(-np.inf, np.inf)) for one in unknowns)
    return Trials.of(DESCRIBED.damper, Directions.of(Knowledge.prior(unknowns)), steel=SpringSteel())


def test_a_step_that_was_tried_has_all_the_weight_and_none_where_nothing_moves() -> None:
    (trial, *_) = trials().along
    assert trial.weights(trial.steps) == pytest.approx(np.eye(trial.steps.size))
    assert trial.weights(np.zeros(1)) == pytest.approx(np.zeros((1, trial.steps.size)))


def test_between_steps_and_beyond_them_straight_lines_are_followed() -> None:
    (trial, *_) = trials().along
    at = np.array([-4.0, -1.7, 0.4, 1.8, 3.3])
    assert trial.weights(at) @ trial.steps == pytest.approx(at)


def test_where_no_damper_can_be_further_out_a_draw_stands_at_the_last_that_can() -> None:
    noted = Unmeasured("clamp", 0.9, "compression stack", "clamp_diameter")
    found = trials(noted, unlimited=True)
    tight = [one for one in found.along if np.isfinite(one.limits[1])]
    assert len(tight) == 1  # the clamp cannot be wider than the ports' inner edge
    assert tight[0].weights(np.array([9.0])) == pytest.approx(
        tight[0].weights(np.array([tight[0].limits[1]]))
    )
