"""A goal that falls between two steps of a stack is called so with both figures; and only then."""

import numpy as np
import pytest
from numpy.typing import NDArray

from damping_model.stack.stack import Shim, Stack
from optimiser.model.goal import Goal, Role, Window
from optimiser.studies.fineness import coarse_steps
from optimiser.studies.steps_around import MOST_SHIMS, StepsAround, steps_around


def around(*shifts: float) -> StepsAround:
    return steps_around(shifts=shifts, least=0.05, most=0.09, band="support")


def test_a_goal_between_two_steps_names_both() -> None:
    steps = around(0.11, -0.09, 0.02, 0.2)
    assert (steps.below, steps.above, steps.landing) == (0.02, 0.11, 0)
    assert steps.between
    words = (
        "one change moves 'support' by +2.0 % or by +11.0 % and lands nowhere between, while +5.0 % to +9.0 % is "
        "wanted."
    )
    assert steps.said(shims=7) == words.capitalize().replace("'Support", "'support")
    coarse = "The stack of 7 shims is too coarse for this goal in one change: "
    assert steps.said(shims=7, called_coarse=True) == coarse + words


def test_the_stack_as_it_is_counts_as_a_step() -> None:
    assert around(0.2).below == 0.0
    assert around(0.2).between


@pytest.mark.parametrize(
    ("shifts", "landing", "count"),
    [
        ((0.05, 0.2), 1, "one change does"),
        ((0.09,), 1, "one change does"),
        ((0.07, 0.08, -0.1), 2, "2 single"),
    ],
)
def test_a_step_inside_or_on_the_edge_is_fine_enough(
    shifts: tuple[float, ...], landing: int, count: str
) -> None:
    steps = around(*shifts)
    assert (steps.landing, steps.between) == (landing, False)
    assert steps.said(shims=7).startswith(f"'support' is to move by +5.0 % to +9.0 % on average: {count}")


def test_a_goal_beyond_every_step_is_out_of_reach_and_not_a_matter_of_fineness() -> None:
    steps = around(0.01, 0.02)
    assert not steps.between
    assert (
        steps.said(shims=7)
        == "'support' is to move by +5.0 % to +9.0 %: one change comes no nearer than +2.0 %."
    )


@pytest.mark.parametrize(("shims", "coarse"), [(MOST_SHIMS, True), (MOST_SHIMS + 1, False)])
def test_only_a_stack_of_few_shims_is_called_coarse(*, shims: int, coarse: bool) -> None:
    assert around(0.2).too_coarse(shims=shims) is coarse


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


def coarse(goal_asked: Goal, stack: Stack = THIN) -> StepsAround | None:
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
    said = steps.said(shims=1)
    assert "One change that keeps the held bands moves 'support' by 0 % or by +30.0 %" in said


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
    expected = steps_around(shifts=kept, least=0.15, most=0.25, band="support", others_held=True)
    assert (said is not None) == expected.between
    if said is not None:
        assert (said.below, said.above) == pytest.approx((expected.below, expected.above), rel=1e-12)
    assert len(asked) < 30
