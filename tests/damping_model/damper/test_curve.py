"""What a force curve says of itself."""

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from tests.helpers.circuits import monotube


def test_resisting_force_is_positive_in_both_strokes_and_zero_between() -> None:
    curve = force_curve(monotube(), velocities=[-0.2, 0.0, 0.2])
    assert curve.force_against_motion[0] == -curve.damping_force[0] > 0
    assert curve.force_against_motion[1] == 0
    assert curve.force_against_motion[2] == curve.damping_force[2] > 0


def test_total_force_is_damping_and_gas_and_friction() -> None:
    curve = force_curve(monotube(), velocities=[-0.2, 0.2])
    assert curve.total_force - curve.damping_force == pytest.approx(curve.gas_force + np.array([-18.0, 18.0]))
