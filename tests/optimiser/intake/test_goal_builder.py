"""Bands become a goal, and bands that contradict one another are refused by name."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, Literal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from optimiser.errors import InputError
from optimiser.intake.bands import HoldBand, TargetBand
from optimiser.intake.goal_builder import goal_from_bands
from optimiser.model.goal import Goal, Role

TARGET = TargetBand("support", "compression", 0.06, 0.20, 0.03, shift=0.08)
HOLD = HoldBand("edges", "compression", 0.7, 1.6, 0.02)


def straight(velocities: NDArray[np.float64]) -> NDArray[np.float64]:
    """A damper of 1000 N s/m in compression and twice that in rebound."""
    return np.where(velocities > 0, 1000 * velocities, -2000 * velocities)


def goal(
    targets: Sequence[TargetBand] = (TARGET,),
    holds: Sequence[HoldBand] = (HOLD,),
    familiarity: float | None = None,
    forces: Callable[..., Any] = straight,
    least_height: float = 0.002,
    most_height: float = 0.003,
) -> Goal:
    return goal_from_bands(
        targets=targets,
        holds=holds,
        familiarity=familiarity,
        forces=forces,
        least_height=least_height,
        most_height=most_height,
    )


def test_a_target_is_judged_at_both_its_ends_and_in_equal_ratios_between() -> None:
    window = goal().windows[0]
    steps = np.diff(np.log(window.velocities))
    assert window.velocities[0] == pytest.approx(0.06)
    assert window.velocities[-1] == pytest.approx(0.20)
    assert steps == pytest.approx(np.full(4, steps[0]))


def test_asked_at_every_velocity_a_share_moves_every_force_and_the_tolerance_counts_from_the_force_before() -> (
    None
):
    window = goal(targets=[replace(TARGET, at_every_velocity=True)]).windows[0]
    before = np.array(window.before)
    assert np.array(window.desired) == pytest.approx(1.08 * before)
    assert np.array(window.lower) == pytest.approx(1.05 * before)
    assert np.array(window.upper) == pytest.approx(1.11 * before)


def test_a_target_moves_on_average_and_every_velocity_the_right_way_by_a_third_to_two_and_a_half_times() -> (
    None
):
    """Common practice, no source: nobody expects the same per cent from end to end of a band."""
    window = goal().windows[0]
    before = np.array(window.before)
    assert window.average is not None
    assert np.exp([window.average.lower, window.average.desired, window.average.upper]) == pytest.approx(
        [1.05, 1.08, 1.11]
    )
    assert np.array(window.lower) == pytest.approx((1 + 0.08 / 3) * before)
    assert np.array(window.upper) == pytest.approx((1 + 0.08 * 2.5) * before)


def test_a_target_that_takes_force_away_leaves_some_at_every_velocity() -> None:
    window = goal(targets=[replace(TARGET, shift=-0.6)]).windows[0]
    assert np.array(window.upper) == pytest.approx(0.8 * np.array(window.before))
    assert min(window.lower) == 0.0


def test_newtons_move_every_force_by_those_newtons() -> None:
    band = TargetBand("support", "compression", 0.06, 0.20, 0.03, shift_force=-20.0)
    window = goal(targets=[band]).windows[0]
    assert np.array(window.desired) == pytest.approx(np.array(window.before) - 20)


def test_a_held_band_aims_at_what_is_there() -> None:
    window = goal().windows[1]
    assert window.role is Role.HOLD
    assert window.desired == window.before
    assert np.array(window.upper) == pytest.approx(1.02 * np.array(window.before))


def test_rebound_velocities_are_negative_and_their_resisting_forces_positive() -> None:
    band = TargetBand("pogo", "rebound", 0.05, 0.15, 0.03, shift=0.1)
    window = goal(targets=[band], holds=[]).windows[0]
    assert max(window.velocities) < 0
    assert window.before[0] == pytest.approx(100.0)


def test_familiarity_covers_every_stretch_of_both_strokes_that_no_band_covers() -> None:
    built = goal(familiarity=0.12)
    familiar = [w for w in built.windows if w.role is Role.FAMILIARITY]
    reach = [(round(min(map(abs, w.velocities)), 3), round(max(map(abs, w.velocities)), 3)) for w in familiar]
    assert reach == [(0.03, 0.059), (0.204, 0.686), (0.03, 1.5)]
    for window in familiar:
        assert np.array(window.upper) == pytest.approx(1.12 * np.array(window.before))
        assert np.array(window.lower) == pytest.approx(0.88 * np.array(window.before))


def test_no_target_may_use_its_tolerance_to_leave_the_familiar() -> None:
    window = goal(familiarity=0.09).windows[0]
    assert np.array(window.upper) == pytest.approx(1.09 * np.array(window.before))


@given(
    low=st.floats(0.01, 2),
    ratio=st.floats(1.05, 20),
    shift=st.floats(-0.9, 3).filter(lambda x: abs(x) > 1e-3),
    tolerance=st.floats(0.001, 0.5),
    stroke=st.sampled_from(["compression", "rebound"]),
)
def test_every_window_holds_its_aim_and_no_force_that_pushes(
    low: float, ratio: float, shift: float, tolerance: float, stroke: Literal["compression", "rebound"]
) -> None:
    band = TargetBand("any", stroke, low, low * ratio, tolerance, shift=shift)
    window = goal(targets=[band], holds=[], familiarity=max(abs(shift), 0.01)).windows[0]
    assert all(0 <= a <= b <= c for a, b, c in zip(window.lower, window.desired, window.upper, strict=True))


def _message(call: Callable[..., Any]) -> str:
    with pytest.raises(InputError) as caught:
        call()
    return str(caught.value)


def test_a_target_inside_a_held_band_is_refused_by_both_names() -> None:
    text = _message(lambda: goal(holds=[HoldBand("all low", "compression", 0.05, 0.5, 0.02)]))
    assert text.startswith(
        "target band 'support' (compression 0.06 to 0.2 m/s) lies inside held band "
        "'all low' (compression 0.05 to 0.5 m/s)"
    )


@pytest.mark.parametrize(("low", "high"), [(0.1, 0.5), (0.2, 0.5), (0.01, 0.06)])
def test_a_target_that_shares_a_velocity_with_a_held_band_is_refused(low: float, high: float) -> None:
    hold = HoldBand("h", "compression", low, high, 0.02)
    assert "overlaps held band" in _message(lambda: goal(holds=[hold]))


def test_the_same_velocities_in_the_other_stroke_do_not_overlap() -> None:
    assert len(goal(holds=[HoldBand("h", "rebound", 0.05, 0.5, 0.02)]).windows) == 2


def test_two_targets_on_one_velocity_are_refused() -> None:
    other = TargetBand("more", "compression", 0.1, 0.4, 0.03, shift=0.2)
    text = _message(lambda: goal(targets=[TARGET, other], holds=[]))
    assert "one velocity cannot have two wanted forces" in text


def test_a_band_in_the_wrong_order_is_refused_with_the_way_out() -> None:
    text = _message(lambda: TargetBand("support", "compression", 0.2, 0.06, 0.03, shift=0.08))
    assert text == "band 'support': got 0.2 to 0.06 m/s, expected the lower velocity first. Swap them."


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), 0.0, -1.0])
@pytest.mark.parametrize("field", ["low", "high", "tolerance"])
def test_a_number_that_is_none_is_refused_by_field(field: str, bad: float) -> None:
    values = {"low": 0.1, "high": 0.2, "tolerance": 0.03} | {field: bad}
    assert f"band 'x': got {field} {bad}" in _message(lambda: HoldBand("x", "compression", **values))


@pytest.mark.parametrize(
    ("shifts", "text"),
    [
        ({}, "got 0 shifts, expected one"),
        ({"shift": 0.1, "shift_force": 5.0}, "got 2 shifts, expected one"),
        ({"shift": 0.0}, "A band that stays is a held band"),
        ({"shift": float("nan")}, "got a shift of nan"),
        ({"shift": -1.2}, "a damper cannot push"),
    ],
)
def test_a_target_says_one_thing(shifts: dict[str, Any], text: str) -> None:
    assert text in _message(lambda: TargetBand("x", "compression", 0.1, 0.2, 0.03, **shifts))


def test_nothing_to_move_is_refused() -> None:
    assert _message(lambda: goal(targets=[])).startswith("got no target band, expected at least one")


def test_newtons_that_would_make_the_damper_push_are_refused() -> None:
    band = TargetBand("x", "compression", 0.06, 0.2, 0.03, shift_force=-100.0)
    assert "asks for -40 N where there are 60 N" in _message(lambda: goal(targets=[band], holds=[]))


def test_a_band_where_the_damper_does_nothing_is_refused() -> None:
    text = _message(lambda: goal(forces=np.zeros_like))
    assert "the damper's force at 0.06 m/s is 0 N" in text


@pytest.mark.parametrize("shift", [{"shift": 0.2}, {"shift_force": 30.0}])
def test_a_target_past_the_familiarity_limit_is_refused(shift: dict[str, Any]) -> None:
    band = TargetBand("x", "compression", 0.06, 0.2, 0.03, **shift)
    assert "raise or drop the familiarity limit" in _message(lambda: goal(targets=[band], familiarity=0.1))


def test_heights_in_the_wrong_order_are_refused() -> None:
    assert "expected the least first" in _message(lambda: goal(least_height=0.004))
