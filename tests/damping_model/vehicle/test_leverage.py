"""Wheel and shaft: the two conventions agree, travel and ratio agree, and no power is lost between them."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import quad

from damping_model.errors import GeometryError
from damping_model.vehicle.leverage import LeverageCurve

TRAIL = LeverageCurve.from_leverage_ratio(wheel=[0, 0.05, 0.1, 0.14], leverage_ratio=[2.9, 2.65, 2.45, 2.3])


@st.composite
def curves(draw: Callable[..., Any]) -> LeverageCurve:
    count = draw(st.integers(2, 8))
    steps = draw(st.lists(st.floats(0.005, 0.08), min_size=count - 1, max_size=count - 1))
    ratios = draw(st.lists(st.floats(0.9, 4.0), min_size=count, max_size=count))
    return LeverageCurve.from_leverage_ratio(wheel=[0, *np.cumsum(steps)], leverage_ratio=ratios)


places = st.floats(0, 1)


@given(curves(), places)
def test_leverage_ratio_and_motion_ratio_are_reciprocals(curve: LeverageCurve, place: float) -> None:
    x = place * curve.wheel_travel_end
    assert curve.leverage_ratio(wheel_travel=x) * curve.motion_ratio(wheel_travel=x) == pytest.approx(1)


@given(curves(), places)
def test_from_wheel_to_shaft_and_back_is_the_same_place(curve: LeverageCurve, place: float) -> None:
    x = place * curve.wheel_travel_end
    s = curve.shaft_travel(wheel_travel=x)
    assert curve.wheel_travel(shaft_travel=s) == pytest.approx(x, abs=1e-12)


@given(curves(), places, st.floats(-5, 5), st.floats(-5000, 5000))
def test_no_power_is_lost_in_the_linkage(
    curve: LeverageCurve, place: float, wheel_velocity: float, shaft_force: float
) -> None:
    x = place * curve.wheel_travel_end
    wheel = curve.wheel_force(shaft_force=shaft_force, wheel_travel=x) * wheel_velocity
    shaft = shaft_force * curve.shaft_velocity(wheel_velocity=wheel_velocity, wheel_travel=x)
    assert wheel == pytest.approx(shaft, abs=1e-9)


@given(curves(), places, st.floats(0.1, 5), st.floats(10, 1e5))
def test_damping_at_the_wheel_falls_with_the_leverage_ratio_squared(
    curve: LeverageCurve, place: float, velocity: float, damping: float
) -> None:
    x = place * curve.wheel_travel_end
    shaft_velocity = curve.shaft_velocity(wheel_velocity=velocity, wheel_travel=x)
    force = curve.wheel_force(shaft_force=damping * shaft_velocity, wheel_travel=x)
    assert force / velocity == pytest.approx(curve.wheel_damping(shaft_damping=damping, wheel_travel=x))
    ratio = curve.leverage_ratio(wheel_travel=x)
    assert curve.wheel_damping(shaft_damping=damping, wheel_travel=x) == pytest.approx(damping / ratio**2)


@given(curves(), st.floats(0.02, 0.98), st.floats(1e4, 2e5), st.floats(0, 0.02))
def test_the_rate_at_the_wheel_is_the_slope_of_the_force_at_the_wheel(
    curve: LeverageCurve, place: float, stiffness: float, preload: float
) -> None:
    x = place * curve.wheel_travel_end
    if np.abs(curve.shaft.x - x).min() < 2e-5:
        return  # the slope of a motion ratio through points may jump at a point
    h = 1e-6

    def force(at: float) -> float:
        spring = stiffness * (curve.shaft_travel(wheel_travel=at) + preload)
        return curve.wheel_force(shaft_force=spring, wheel_travel=at)

    spring_force = stiffness * (curve.shaft_travel(wheel_travel=x) + preload)
    rate = curve.wheel_rate(spring_rate=stiffness, spring_force=spring_force, wheel_travel=x)
    slope = (force(x + h) - force(x - h)) / (2 * h)
    assert rate == pytest.approx(slope, rel=1e-4, abs=1e-4 * stiffness)


@given(curves())
def test_shaft_travel_is_the_sum_of_its_slopes(curve: LeverageCurve) -> None:
    total = sum(
        quad(lambda x: curve.motion_ratio(wheel_travel=x), a, b, epsabs=1e-13)[0]
        for a, b in zip(curve.shaft.x, curve.shaft.x[1:], strict=False)
    )
    assert total == pytest.approx(curve.shaft_travel_end, rel=1e-9)


@given(curves())
def test_shaft_travel_rises_all_the_way(curve: LeverageCurve) -> None:
    travel = curve.shaft_travel(wheel_travel=np.linspace(0, curve.wheel_travel_end, 200))
    assert (np.diff(travel) > 0).all()


def test_the_two_conventions_name_the_same_linkage() -> None:
    wheel, ratio = [0, 0.05, 0.1], [2.8, 2.6, 2.5]
    one = LeverageCurve.from_leverage_ratio(wheel=wheel, leverage_ratio=ratio)
    other = LeverageCurve.from_motion_ratio(wheel=wheel, motion_ratio=[1 / r for r in ratio])
    x = np.linspace(0, 0.1, 30)
    assert one.leverage_ratio(wheel_travel=x) == pytest.approx(other.leverage_ratio(wheel_travel=x))


def test_the_curve_passes_through_its_points() -> None:
    assert TRAIL.leverage_ratio(wheel_travel=np.array([0, 0.05, 0.1, 0.14])) == pytest.approx(
        [2.9, 2.65, 2.45, 2.3]
    )
    travel = LeverageCurve.from_shaft_travel(wheel=[0, 0.07, 0.14], shaft=[0, 0.026, 0.055])
    assert travel.shaft_travel(wheel_travel=np.array([0, 0.07, 0.14])) == pytest.approx([0, 0.026, 0.055])


def test_160_mm_over_a_65_mm_stroke_is_2_46_on_average() -> None:
    """Elementary; the same figure is commonly printed for such frames."""
    curve = LeverageCurve.from_shaft_travel(wheel=[0, 0.08, 0.16], shaft=[0, 0.031, 0.065])
    assert round(curve.mean_leverage_ratio, 2) == 2.46


# A bell crank: a swingarm and a shock arm rigid with it; derived in docs/model/leverage.md.
SWINGARM, SHOCK_ARM, FRAME_ARM = 0.44, 0.12, 0.30
LOWEST, ANGLE_EXTENDED = math.radians(-12), math.radians(118)


def bell_crank(
    turn: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Wheel travel, shaft travel and wheel over shaft when the crank has turned by an angle. [m, m, -]"""

    def length(angle: NDArray[np.float64] | float) -> NDArray[np.float64]:
        return np.sqrt(SHOCK_ARM**2 + FRAME_ARM**2 - 2 * SHOCK_ARM * FRAME_ARM * np.cos(angle))

    angle = ANGLE_EXTENDED - turn
    wheel = SWINGARM * (np.sin(LOWEST + turn) - np.sin(LOWEST))
    shaft = length(ANGLE_EXTENDED) - length(angle)
    shaft_by_turn = SHOCK_ARM * FRAME_ARM * np.sin(angle) / length(angle)
    return wheel, shaft, SWINGARM * np.cos(LOWEST + turn) / shaft_by_turn


def test_a_bell_crank_given_by_its_travels_is_reproduced_to_a_millionth() -> None:
    points = bell_crank(np.linspace(0, math.radians(24), 1200))
    curve = LeverageCurve.from_shaft_travel(wheel=points[0].tolist(), shaft=points[1].tolist())
    wheel, shaft, ratio = bell_crank(np.linspace(math.radians(0.2), math.radians(23.8), 777))
    assert curve.shaft_travel(wheel_travel=wheel) == pytest.approx(shaft, rel=1e-6)
    assert curve.leverage_ratio(wheel_travel=wheel) == pytest.approx(ratio, rel=1e-6)


@pytest.mark.parametrize("convention", ["leverage", "motion"])
def test_a_bell_crank_given_by_its_ratio_is_reproduced_to_a_millionth(convention: str) -> None:
    wheel, _, ratio = bell_crank(np.linspace(0, math.radians(24), 300))
    if convention == "leverage":
        curve = LeverageCurve.from_leverage_ratio(wheel=wheel.tolist(), leverage_ratio=ratio.tolist())
    else:
        curve = LeverageCurve.from_motion_ratio(wheel=wheel.tolist(), motion_ratio=(1 / ratio).tolist())
    wheel, shaft, ratio = bell_crank(np.linspace(0, math.radians(24), 777))
    wheel[-1] = curve.wheel_travel_end
    assert curve.shaft_travel(wheel_travel=wheel) == pytest.approx(shaft, rel=1e-6, abs=1e-12)
    assert curve.leverage_ratio(wheel_travel=wheel) == pytest.approx(ratio, rel=1e-6)


def test_a_handful_of_measured_points_come_within_a_percent_of_the_bell_crank() -> None:
    points = bell_crank(np.linspace(0, math.radians(24), 6))
    curve = LeverageCurve.from_leverage_ratio(wheel=points[0].tolist(), leverage_ratio=points[2].tolist())
    wheel, _, ratio = bell_crank(np.linspace(0, math.radians(23.9), 100))
    assert curve.leverage_ratio(wheel_travel=wheel) == pytest.approx(ratio, rel=0.01)


def test_a_fork_without_a_rake_is_one_to_one() -> None:
    fork = LeverageCurve.fork(travel=0.16)
    assert fork.leverage_ratio(wheel_travel=0.05) == pytest.approx(1)
    assert fork.wheel_rate(spring_rate=9e3, spring_force=500, wheel_travel=0.05) == pytest.approx(9e3)


def test_a_raked_fork_lifts_the_wheel_by_the_cosine() -> None:
    fork = LeverageCurve.fork(travel=0.15, rake=math.radians(25))
    assert fork.leverage_ratio(wheel_travel=0.1) == pytest.approx(math.cos(math.radians(25)))


def refusal(build: Callable[..., Any], **points: list[float]) -> str:
    with pytest.raises(GeometryError) as caught:
        build(**points)
    return str(caught.value)


def test_a_curve_that_runs_backwards_is_refused_with_the_place() -> None:
    text = refusal(LeverageCurve.from_shaft_travel, wheel=[0, 0.05, 0.1], shaft=[0, 0.03, 0.02])
    assert text.startswith("the leverage curve runs backwards: shaft travel goes from 30 to 20 mm")
    text = refusal(LeverageCurve.from_leverage_ratio, wheel=[0, 0.1, 0.05], leverage_ratio=[2, 2, 2])
    assert text.startswith("the leverage curve runs backwards: wheel travel goes from 100 to 50 mm")


@pytest.mark.parametrize(
    ("points", "text"),
    [
        ({"wheel": [0, 0.1], "leverage_ratio": [2.5, -2.0]}, "got wheel over shaft -2 at 100 mm"),
        ({"wheel": [0, 0.1], "leverage_ratio": [2.5, 0.0]}, "got wheel over shaft 0 at 100 mm"),
        ({"wheel": [0, 0.1], "leverage_ratio": [2.5, 250.0]}, "Check the units"),
        ({"wheel": [0, 0.1], "leverage_ratio": [2.5, math.nan]}, "not a number"),
        ({"wheel": [0.01, 0.1], "leverage_ratio": [2.5, 2.4]}, "starts at a wheel travel of 10 mm"),
        ({"wheel": [0, 0.1], "leverage_ratio": [2.5]}, "got 2 wheel travels and 1 points"),
        ({"wheel": [0], "leverage_ratio": [2.5]}, "at least two"),
    ],
)
def test_points_that_make_no_curve_are_refused(points: dict[str, list[float]], text: str) -> None:
    assert text in refusal(LeverageCurve.from_leverage_ratio, **points)


def test_a_ratio_of_nothing_is_refused_whichever_way_round_it_is_given() -> None:
    text = refusal(LeverageCurve.from_motion_ratio, wheel=[0, 0.1], motion_ratio=[0.4, 0.0])
    assert "got wheel over shaft inf at 100 mm" in text
    text = refusal(LeverageCurve.from_shaft_travel, wheel=[0, 0.01, 0.02], shaft=[0, 0.001, 0.01])
    assert "got wheel over shaft inf at 0 mm" in text


def test_a_place_past_the_end_of_the_travel_is_refused() -> None:
    with pytest.raises(GeometryError, match=r"got a wheel travel of 150 mm, expected 0 to 140 mm"):
        TRAIL.motion_ratio(wheel_travel=0.15)
    with pytest.raises(GeometryError, match="got a shaft travel of 90 mm"):
        TRAIL.wheel_travel(shaft_travel=0.09)
    with pytest.raises(GeometryError, match="got a wheel travel of nan mm"):
        TRAIL.motion_ratio(wheel_travel=math.nan)


def test_a_head_angle_given_as_a_rake_is_refused_with_the_way_out() -> None:
    with pytest.raises(GeometryError, match="90 degrees less the rake"):
        LeverageCurve.fork(travel=0.16, rake=math.radians(65))
