"""An instant of a ride becomes a shaft velocity; docs/how-to/from-words-to-velocities.md works the figures by hand."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.errors import InputError
from optimiser.intake.complaint import Complaint
from optimiser.intake.events import (
    at_the_shaft,
    braking_dive,
    landing,
    pedal_bob,
    square_edge,
    wheel_window,
)
from optimiser.intake.machine import Machine, Rider
from optimiser.intake.narrow import EventAsked, event_at_the_shaft, narrowed, static_wheel_rate


@pytest.mark.parametrize(
    ("height", "speed", "velocity"), [(0.050, 5.0, 2.90), (0.100, 5.0, 4.68), (0.100, 10.0, 9.37)]
)
def test_a_rigid_wheel_on_a_square_edge(height: float, speed: float, velocity: float) -> None:
    """Elementary: v sqrt(2Rh - h^2)/(R - h) with R = 0.37 m, worked to two decimals."""
    event = square_edge(height=height, speed=speed, wheel_radius=0.37)
    assert round(event.fastest, 2) == velocity


@given(st.floats(0.01, 0.3), st.floats(0.5, 20))
def test_the_axle_moves_at_right_angles_to_the_line_to_the_edge(height: float, speed: float) -> None:
    """Formulated another way: the velocity's direction from the wheel's angle at contact."""
    angle = math.acos((0.37 - height) / 0.37)
    assert square_edge(height=height, speed=speed, wheel_radius=0.37).fastest == pytest.approx(
        speed * math.tan(angle)
    )


@given(st.floats(0.01, 20))
def test_a_fall_turns_all_its_energy_into_speed(height: float) -> None:
    speed = landing(height=height).fastest
    assert speed**2 / 2 == pytest.approx(9.80665 * height)


def test_landing_on_a_slope_asks_less_of_the_travel_than_on_the_flat() -> None:
    assert landing(height=1.0, slope=math.radians(30)).fastest == pytest.approx(
        math.sqrt(3) / 2 * landing(height=1.0).fastest
    )


def test_braking_dive_by_hand() -> None:
    """95 kg at 6 m/s^2, 1.0 m high over 1.2 m: 475 N, 52.8 mm on 9 N/mm; in 0.25 s pi/2 x 0.211 m/s."""
    event, dive = braking_dive(
        deceleration=6.0, rise_time=0.25, mass=95.0, mass_height=1.0, wheelbase=1.2, wheel_rate=9000.0
    )
    assert dive == pytest.approx(475 / 9000)
    assert round(event.fastest, 3) == 0.332


def test_pedal_bob_by_hand() -> None:
    """12 mm at 90 turns a minute: 3 waves a second, pi x 3 x 0.012 = 0.113 m/s."""
    assert round(pedal_bob(stroke=0.012, cadence=1.5).fastest, 3) == 0.113


def test_a_window_runs_from_half_of_the_fastest_velocity_to_the_fastest() -> None:
    event = landing(height=1.0)
    assert event.slowest == pytest.approx(event.fastest / 2)


@given(st.floats(0.0, 0.8), st.floats(0.05, 0.2))
def test_every_place_in_the_stretch_lies_in_the_shaft_window(start: float, length: float) -> None:
    curve = LeverageCurve.from_leverage_ratio(wheel=[0, 0.07, 0.14], leverage_ratio=[2.9, 2.6, 2.3])
    stretch = (start * 0.14, (start + length) * 0.14)
    event = wheel_window(slowest=0.5, fastest=1.5)
    window = at_the_shaft(event, leverage=curve, from_travel=stretch[0], to_travel=stretch[1])
    for share in (0, 0.3, 0.5, 1):
        x = stretch[0] + share * (stretch[1] - stretch[0])
        for velocity in (0.5, 1.5):
            shaft = curve.shaft_velocity(wheel_velocity=velocity, wheel_travel=x)
            assert window.low * 0.9999 <= shaft <= window.high * 1.0001


def test_at_a_constant_ratio_the_shaft_sees_the_wheel_divided_by_it() -> None:
    curve = LeverageCurve.constant(travel=0.15, leverage_ratio=2.5)
    window = at_the_shaft(
        wheel_window(slowest=1.0, fastest=2.0), leverage=curve, from_travel=0.03, to_travel=0.1
    )
    assert (window.low, window.high) == (pytest.approx(0.4), pytest.approx(0.8))
    assert "2.50 to 2.50 times as fast as the shaft" in window.assumptions[1]


def test_the_narrow_mode_on_a_machine_says_what_it_assumes(bike: Machine, rider: Rider) -> None:
    asked = EventAsked("braking dive", deceleration=6.0)
    window = event_at_the_shaft(asked, machine=bike, corner=bike.corner("front"), rider=rider)
    assert window.high == pytest.approx(math.pi / 2 * 95 * 6 / 1.2 / 9000 / 0.25)
    assert window.from_travel == pytest.approx(0.27 * 0.15)
    assert window.to_travel == pytest.approx(0.27 * 0.15 + 475 / 9000)
    assert "built up over 0.25 s" in window.assumptions[0]
    assert window.assumptions[-1] == "it begins at sag (27 % of travel, usual, nobody measured it)"


def test_measured_sag_and_a_stretch_that_is_asked_for_are_used(bike: Machine, rider: Rider) -> None:
    corner = bike.corner("rear")
    asked = EventAsked("landing", height=0.5)
    window = event_at_the_shaft(asked, machine=bike, corner=corner, rider=rider, sag=0.03)
    assert (window.from_travel, window.to_travel) == (pytest.approx(0.03), pytest.approx(0.15))
    asked = replace(asked, from_share=0.6, to_share=0.8)
    window = event_at_the_shaft(asked, machine=bike, corner=corner, rider=rider)
    assert (window.from_travel, window.to_travel) == (pytest.approx(0.09), pytest.approx(0.12))


@pytest.mark.parametrize(
    ("asked", "text"),
    [
        (EventAsked("square edge", speed=5.0), "event 'square edge': got no number for its height"),
        (EventAsked("braking dive"), "event 'braking dive': got no number for its deceleration"),
        (EventAsked("pedal bob", stroke=0.01), "event 'pedal bob': got no number for its cadence"),
        (EventAsked("wheel velocity", slowest=1.0), "event 'wheel velocity': got no number for its fastest"),
        (EventAsked("square edge", speed=5.0, height=0.4), "expected less than the wheel's radius of 370 mm"),
        (EventAsked("landing", height=1.0, from_share=0.9, to_share=0.2), "with the shallow end first"),
        (EventAsked("landing", height=float("nan")), "landing: got height nan, expected a number above 0"),
    ],
)
def test_an_event_that_cannot_be_worked_out_is_refused(
    bike: Machine, rider: Rider, asked: EventAsked, text: str
) -> None:
    with pytest.raises(InputError, match=text):
        event_at_the_shaft(asked, machine=bike, corner=bike.corner("rear"), rider=rider)


def test_a_machine_without_the_needed_measure_is_refused_by_its_key(bike: Machine, rider: Rider) -> None:
    bare = replace(bike, wheelbase=None)
    with pytest.raises(InputError, match="wheelbase_mm of the machine"):
        event_at_the_shaft(
            EventAsked("braking dive", deceleration=6.0),
            machine=bare,
            corner=bare.corner("front"),
            rider=rider,
        )


def test_an_event_narrows_a_complaint_but_numbers_still_win(bike: Machine, rider: Rider) -> None:
    window = event_at_the_shaft(
        EventAsked("wheel velocity", slowest=1.0, fastest=2.0),
        machine=bike,
        corner=bike.corner("rear"),
        rider=rider,
    )
    narrow = narrowed(Complaint(shift=0.1, high=0.6), window)
    assert (narrow.low, narrow.high, narrow.stroke) == (pytest.approx(0.4), 0.6, "compression")


def test_the_rate_at_the_wheel_is_the_springs_over_the_ratio_squared_where_the_ratio_is_constant(
    bike: Machine,
) -> None:
    assert static_wheel_rate(bike.corner("rear"), wheel_travel=0.04) == pytest.approx(80_000 / 2.5**2)
