"""Damping as felt, against the textbook oscillator; and how far a familiar machine may change."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.errors import InputError
from optimiser.intake.bands import TargetBand
from optimiser.intake.familiarity import familiarity_for
from optimiser.intake.felt import Felt, as_felt

LEVER = LeverageCurve.constant(travel=0.15, leverage_ratio=2.0)


def felt(
    damping: float,
    velocity: float = 0.1,
    rate: float = 16_000.0,
    mass: float = 40.0,
    lever: LeverageCurve = LEVER,
) -> Felt:
    return as_felt(
        force=lambda v: damping * abs(v),
        wheel_velocity=velocity,
        wheel_travel=0.04,
        leverage=lever,
        wheel_rate=rate,
        sprung_mass=mass,
    )


def test_critical_damping_at_the_wheel_is_a_ratio_of_one() -> None:
    """c_crit = 2 sqrt(k m) = 1600 N s/m; 2:1 makes 6400 N s/m at the shaft. Any vibration text."""
    assert felt(6400.0).damping_ratio == pytest.approx(1)
    assert felt(6400.0).natural_frequency == pytest.approx(20 / (2 * math.pi))


@pytest.mark.parametrize(("zeta", "left"), [(0.2, 0.527), (0.3, 0.372), (0.4, 0.254), (0.7, 0.046)])
def test_overshoot_by_damping_ratio(zeta: float, left: float) -> None:
    """exp(-pi zeta/sqrt(1 - zeta^2)), to three digits; elementary."""
    assert round(felt(6400.0 * zeta).overshoot, 3) == left


def test_the_overshoot_is_what_an_integrated_oscillator_does() -> None:
    """Independent: scipy integrates m x'' + c x' + k x = 0."""
    one = felt(6400.0 * 0.25)
    run = solve_ivp(
        lambda _, y: [y[1], -(one.wheel_damping * y[1] + one.wheel_rate * y[0]) / 40.0],
        (0, 1),
        [1.0, 0.0],
        rtol=1e-9,
        atol=1e-12,
        max_step=0.002,
    )
    assert -run.y[0].min() == pytest.approx(one.overshoot, rel=1e-4)


@given(st.floats(100, 5000), st.floats(1.2, 3.5), st.sampled_from([-0.2, 0.05, 1.0]))
def test_the_ratio_falls_with_the_leverage_squared_in_either_stroke(
    damping: float, ratio: float, velocity: float
) -> None:
    lever = LeverageCurve.constant(travel=0.15, leverage_ratio=ratio)
    assert felt(damping, velocity, lever=lever).damping_ratio == pytest.approx(
        felt(damping).damping_ratio * (2 / ratio) ** 2
    )


@pytest.mark.parametrize("bad", [{"rate": 0.0}, {"mass": -1.0}, {"velocity": 0.0}, {"rate": np.nan}])
def test_what_cannot_swing_is_refused(bad: dict[str, Any]) -> None:
    with pytest.raises(InputError, match="damping as felt"):
        felt(1000.0, **bad)


TARGET = TargetBand("support", "compression", 0.06, 0.20, 0.03, shift=0.08)


def test_a_narrow_complaint_keeps_the_rest_familiar_unless_told_otherwise() -> None:
    assert familiarity_for(asked=None, narrow=True, targets=[TARGET]).limit == 0.15
    assert familiarity_for(asked=None, narrow=False, targets=[TARGET]).limit is None
    assert familiarity_for(asked=1.0, narrow=True, targets=[TARGET]).limit is None
    assert familiarity_for(asked=0.1, narrow=False, targets=[TARGET]).limit == 0.1


def test_the_usual_limit_leaves_the_target_its_room() -> None:
    large = TargetBand("support", "compression", 0.06, 0.20, 0.03, shift=-0.3)
    assert familiarity_for(asked=None, narrow=True, targets=[large]).limit == pytest.approx(0.33)
