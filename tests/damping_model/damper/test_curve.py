"""What a force curve says of itself."""

import numpy as np
import pytest

from damping_model.damper.force import force_curve
from damping_model.stack.friction import StackFriction
from tests.helpers.circuits import compression_valve, monotube, rebound_valve, stack


def test_resisting_force_is_positive_in_both_strokes_and_zero_between() -> None:
    curve = force_curve(monotube(), velocities=[-0.2, 0.0, 0.2])
    assert curve.force_against_motion[0] == -curve.damping_force[0] > 0
    assert curve.force_against_motion[1] == 0
    assert curve.force_against_motion[2] == curve.damping_force[2] > 0


def test_total_force_is_damping_and_gas_and_friction() -> None:
    curve = force_curve(monotube(), velocities=[-0.2, 0.2])
    assert curve.total_force - curve.damping_force == pytest.approx(curve.gas_force + np.array([-18.0, 18.0]))


def test_an_opening_stack_gives_more_force_than_one_without_friction_and_a_closing_one_less() -> None:
    speeds = [-1.0, -0.3, -0.1, 0.1, 0.3, 1.0]
    plain, opening, closing = (
        force_curve(monotube(), velocities=speeds, friction=friction).force_against_motion
        for friction in (None, StackFriction(0.1, opening=True), StackFriction(0.1, opening=False))
    )
    assert (opening > plain).all()
    assert (plain > closing).all()


def test_a_loop_takes_power_and_is_twice_as_wide_with_twice_the_friction() -> None:
    def width(coefficient: float) -> float:
        opening, closing = (
            force_curve(monotube(), velocities=[0.3], friction=StackFriction(coefficient, opening=way))
            for way in (True, False)
        )
        return float(opening.damping_force[0] - closing.damping_force[0])

    assert width(0.0) == 0.0
    assert width(0.02) == pytest.approx(2 * width(0.01), rel=0.01)
    assert width(0.01) > 0


def test_stacks_of_one_shim_have_no_loop() -> None:
    one = monotube(paths=(compression_valve(stack("20x0.3")), rebound_valve()))
    opening = force_curve(one, velocities=[0.3], friction=StackFriction(0.1, opening=True))
    assert opening.damping_force[0] == pytest.approx(
        force_curve(one, velocities=[0.3]).damping_force[0], rel=1e-9
    )
