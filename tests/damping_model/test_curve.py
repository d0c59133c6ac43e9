"""Bands and what a curve says of itself."""

import math

import numpy as np
import pytest
from circuits import monotube

from damping_model.damper.curve import Band
from damping_model.damper.force import force_curve
from damping_model.errors import GeometryError


def test_a_band_is_sampled_in_equal_ratios_from_end_to_end():
    speeds = Band(name="low", stroke="compression", low=0.05, high=0.8).velocities(5)
    assert speeds == pytest.approx([0.05, 0.1, 0.2, 0.4, 0.8])


def test_a_band_of_the_rebound_has_negative_velocities():
    assert Band(name="low", stroke="rebound", low=0.1, high=0.1).velocities() == pytest.approx([-0.1])


@pytest.mark.parametrize(
    ("low", "high"), [(0.2, 0.1), (0.0, 0.1), (-0.1, 0.1), (0.1, math.inf), (math.nan, 1.0)]
)
def test_a_band_that_is_none_is_refused(low, high):
    with pytest.raises(GeometryError, match="expected two speeds above 0"):
        Band(name="odd", stroke="rebound", low=low, high=high)


def test_resisting_force_is_positive_in_both_strokes_and_zero_between():
    curve = force_curve(monotube(), velocities=[-0.2, 0.0, 0.2])
    assert curve.resisting_force[0] == -curve.damping_force[0] > 0
    assert curve.resisting_force[1] == 0
    assert curve.resisting_force[2] == curve.damping_force[2] > 0


def test_total_force_is_damping_and_gas_and_friction():
    curve = force_curve(monotube(), velocities=[-0.2, 0.2])
    assert curve.total_force - curve.damping_force == pytest.approx(curve.gas_force + np.array([-18.0, 18.0]))
