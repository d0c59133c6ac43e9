"""A linear corner against what books say of it: transmissibility, step, decrement, fall and dive."""

import math

import numpy as np
import pytest

from damping_model.ride.inputs import CornerInput
from damping_model.ride.loads import Transfer, pulled_and_let_go
from damping_model.ride.machine import Body, RidingMachine
from damping_model.ride.simulate import Start, simulate
from damping_model.units import STANDARD_GRAVITY
from tests.helpers.counts import some_of
from tests.helpers.riding import linear_corner, on_one, real_corner

MASS, UNSPRUNG, RATE, DAMPING, TYRE, TYRE_DAMPING = 80.0, 12.0, 9000.0, 700.0, 120e3, 200.0

FREQUENCIES = (0.3, 0.5, 0.9, 1.6, 2.8, 5.0, 9.0, 16.0, 30.0)
"""Two decades. [Hz]"""


def _closed_form(frequency: float) -> complex:
    """Height of the body over that of the road, of two masses in a row (any text on vibration)."""
    w = 2j * math.pi * frequency
    spring, tyre = RATE + DAMPING * w, TYRE + TYRE_DAMPING * w
    matrix = np.array([[MASS * w**2 + spring, -spring], [-spring, UNSPRUNG * w**2 + spring + tyre]])
    return complex(np.linalg.solve(matrix, np.array([0.0, tyre]))[0])


@pytest.mark.parametrize("frequency", some_of(FREQUENCIES, every=4))
def test_transmissibility_is_that_of_two_masses_in_a_row(frequency: float) -> None:
    machine = RidingMachine(
        body=Body(shares=(MASS,)),
        corners=(
            linear_corner(
                stiffness=RATE, damping=DAMPING, unsprung=UNSPRUNG, tyre=TYRE, tyre_damping=TYRE_DAMPING
            ),
        ),
    )
    size = 2e-3 / max(frequency, 1.0)
    ride = simulate(
        machine,
        [CornerInput(road=lambda t: size * np.sin(2 * math.pi * frequency * t))],
        duration=5.0 + 2.0 / frequency,
    )
    late = ride.times >= ride.times[-1] - 2.0 / frequency
    turning = 2 * math.pi * frequency * ride.times[late]
    columns = np.column_stack([np.sin(turning), np.cos(turning), np.ones(turning.size)])
    sine, cosine, _ = np.linalg.lstsq(columns, ride.body_height(0)[late], rcond=None)[0] / size
    expected = _closed_form(frequency)
    assert complex(sine, cosine) == pytest.approx(expected, abs=1e-4 * abs(expected))


def _one_mass(zeta: float) -> tuple[np.ndarray, np.ndarray, float]:
    """Times after a step of load, travel over its final change, undamped frequency [rad/s]."""
    omega = math.sqrt(RATE / MASS)
    corner = linear_corner(
        stiffness=RATE, damping=2 * zeta * omega * MASS, unsprung=1e-2, tyre=3e9, tyre_damping=1e5
    )
    step = 0.25e-3
    ride = simulate(
        RidingMachine(body=Body(shares=(MASS,)), corners=(corner,)),
        [CornerInput(load=lambda t: np.where(t > 0.1 + step, -100.0, 0.0))],
        duration=1.7,
    )
    after = ride.times > 0.102
    moved = (ride.travel(0) - ride.travel(0)[0])[after] / (100.0 / RATE)
    return ride.times[after] - 0.1 - step, moved, omega


@pytest.mark.parametrize("zeta", [0.2, 0.7])
def test_a_step_of_load_gives_the_step_response_of_one_mass(zeta: float) -> None:
    times, moved, omega = _one_mass(zeta)
    damped = omega * math.sqrt(1 - zeta**2)
    expected = 1 - np.exp(-zeta * omega * times) * (
        np.cos(damped * times) + zeta * omega / damped * np.sin(damped * times)
    )
    assert np.abs(moved - expected).max() < 1e-4


@pytest.mark.parametrize(("zeta", "overshoot"), [(0.2, 0.527), (0.3, 0.372), (0.4, 0.254)])
def test_what_is_left_at_the_next_swing_is_the_logarithmic_decrement(zeta: float, overshoot: float) -> None:
    times, moved, omega = _one_mass(zeta)
    half = math.pi / (omega * math.sqrt(1 - zeta**2))
    near = np.abs(times - half) < 5e-3
    since = times[near] - half
    quartic = np.polyfit(since, moved[near], 4)
    top = float(np.polyval(quartic, np.linspace(-5e-3, 5e-3, 2001)).max()) - 1
    assert top == pytest.approx(math.exp(-math.pi * zeta / math.sqrt(1 - zeta**2)), abs=1e-4)
    assert top == pytest.approx(overshoot, abs=5e-4)  # as printed


@pytest.mark.parametrize("height", [0.25, 1.0])
def test_a_fall_ends_at_the_speed_of_free_fall(height: float) -> None:
    ride = simulate(on_one(real_corner(seed=3)), [CornerInput()], duration=0.8, start=Start(fall=height))
    touched = int((ride.tyre_force(0) > 0).argmax())
    two = slice(touched - 3, touched - 1)
    at = math.sqrt(2 * height / STANDARD_GRAVITY)
    speed, earlier = ride.body_velocity(0)[two], ride.times[two]
    slope = (speed[1] - speed[0]) / (earlier[1] - earlier[0])
    assert -(speed[0] + slope * (at - earlier[0])) == pytest.approx(
        math.sqrt(2 * STANDARD_GRAVITY * height), rel=1e-4
    )
    assert ride.times[touched - 1] <= at <= ride.times[touched]


@pytest.mark.parametrize("past_spring", [0.0, 0.4])
def test_constant_braking_dives_by_the_load_transfer_over_the_spring_rate(past_spring: float) -> None:
    """95 kg at 6 m/s2, 1.0 m up, 1.2 m between the axles: 475 N, on 9 N/mm 52.8 mm; worked on the page."""
    moved = Transfer(mass=95.0, mass_height=1.0, wheelbase=1.2).moved(6.0)
    assert moved == pytest.approx(475.0)
    corner = linear_corner(stiffness=9000.0, damping=900.0, unsprung=4.0, tyre=120e3)
    machine = RidingMachine(
        body=Body(shares=(42.0, 45.0), wheelbase=1.2, pitch_inertia=20.0), corners=(corner, corner)
    )
    braking = pulled_and_let_go(peak=1.0, rise_time=0.25, hold=60.0, fall_time=1.0)
    ride = simulate(
        machine,
        [
            CornerInput(
                load=lambda t: -(1 - past_spring) * moved * braking(t),
                on_wheel=lambda t: -past_spring * moved * braking(t),
            ),
            CornerInput(load=lambda t: moved * braking(t)),
        ],
        duration=8.0,
    )
    dive = ride.travel(0)[-1] - ride.travel(0)[0]
    assert dive == pytest.approx((1 - past_spring) * 0.0528, rel=1e-3)  # as printed on the page
    assert dive == pytest.approx((1 - past_spring) * 475.0 / 9000.0, rel=1e-4)
    assert ride.travel(1)[0] - ride.travel(1)[-1] == pytest.approx(475.0 / 9000.0, rel=1e-4)
    assert ride.tyre_force(0)[-1] - ride.tyre_force(0)[0] == pytest.approx(475.0, rel=1e-4)
