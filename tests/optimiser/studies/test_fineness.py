"""A goal that falls between two steps of a stack is called so with both figures; and only then."""

import numpy as np
import pytest
from numpy.typing import NDArray

from damping_model.stack.stack import Shim, Stack
from optimiser.model.goal import Goal, Role, Window
from optimiser.studies.fineness import MOST_SHIMS, CoarseSteps, coarse_steps, steps_around


def test_a_goal_between_two_steps_names_both() -> None:
    steps = steps_around(shifts=[0.11, -0.09, 0.02, 0.2], least=0.05, most=0.09, shims=7, band="support")
    assert steps is not None
    assert (steps.below, steps.above) == (0.02, 0.11)
    assert steps.said.startswith(
        "The stack of 7 shims is too coarse for this goal: one change moves 'support' by +2.0% or by +11.0% "
        "and lands nowhere between, while +5.0% to +9.0% is wanted."
    )


def test_the_stack_as_it_is_counts_as_a_step() -> None:
    steps = steps_around(shifts=[0.2], least=0.05, most=0.09, shims=7, band="support")
    assert steps is not None
    assert steps.below == 0.0


@pytest.mark.parametrize("shifts", [[0.05, 0.2], [0.09], [0.07, -0.1]])
def test_a_step_inside_or_on_the_edge_is_fine_enough(shifts: list[float]) -> None:
    assert steps_around(shifts=shifts, least=0.05, most=0.09, shims=7, band="support") is None


def test_a_goal_beyond_every_step_is_out_of_reach_and_not_a_matter_of_fineness() -> None:
    assert steps_around(shifts=[0.01, 0.02], least=0.05, most=0.09, shims=7, band="support") is None


THIN, THICK, OTHER = (Stack((Shim(0.02, thickness, 0.008),)) for thickness in (1e-4, 2e-4, 3e-4))
FORCES = {THIN: [100.0, 50.0], THICK: [130.0, 50.0], OTHER: [120.0, 60.0]}


def goal(*, held: bool) -> Goal:
    target = Window("support", Role.TARGET, (0.1,), (100.0,), (115.0,), (120.0,), (125.0,))
    hold = Window("edges", Role.HOLD, (1.0,), (50.0,), (49.0,), (50.0,), (51.0,))
    return Goal(
        (target, hold if held else Window("edges", Role.SHOWN, (1.0,), *[(v,) for v in (50, 0, 50, 99)])),
        0,
        1,
    )


def coarse(goal_asked: Goal, stack: Stack = THIN) -> CoarseSteps | None:
    return coarse_steps(
        goal_asked,
        stack=stack,
        changed=FORCES,
        coarse=lambda one: np.array(FORCES[one]) * 0.97,
        forces=lambda one: np.array(FORCES[one]),
    )


def test_a_change_that_spoils_a_held_band_is_no_step() -> None:
    assert coarse(goal(held=False)) is None
    steps = coarse(goal(held=True))
    assert steps is not None
    assert "one change that keeps the held bands moves 'support' by +0.0% or by +30.0%" in steps.said


def test_a_stack_of_many_shims_is_never_called_coarse() -> None:
    assert coarse(goal(held=True), stack=Stack(THIN.shims * MOST_SHIMS)) is not None
    assert coarse(goal(held=True), stack=Stack(THIN.shims * (MOST_SHIMS + 1))) is None


@pytest.mark.parametrize("seed", range(200))
def test_coarse_forces_leave_out_no_step_that_counts(seed: int) -> None:
    """What is said is the same as when the whole curve of every stack is worked out, and fewer are."""
    rng = np.random.default_rng(seed)
    stacks = [Stack((Shim(0.02, 1e-4 + 1e-7 * k, 0.008),)) for k in range(40)]
    exact = {one: np.array([100 * rng.uniform(0.8, 1.6), 50 * rng.uniform(0.96, 1.04)]) for one in stacks}
    coarse_forces = {
        one: forces + rng.uniform(-1, 1, 2) + np.array([rng.uniform(-0.2, 0.2) * (forces[0] - 120), 0])
        for one, forces in exact.items()
    }
    asked = []

    def forces(one: Stack) -> NDArray[np.float64]:
        asked.append(one)
        return exact[one]

    said = coarse_steps(
        goal(held=True), stack=THIN, changed=stacks, coarse=lambda one: coarse_forces[one], forces=forces
    )
    kept = [row[0] / 100 - 1 for row in exact.values() if 49 <= row[1] <= 51]
    expected = steps_around(shifts=kept, least=0.15, most=0.25, shims=1, band="support", others_held=True)
    assert (said and said.said) == (expected and expected.said)
    if said is not None and expected is not None:
        assert (said.below, said.above) == pytest.approx((expected.below, expected.above), rel=1e-12)
    assert len(asked) < 30
