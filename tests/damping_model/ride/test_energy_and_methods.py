"""What goes into a ride is lost or stored, whatever the machine; and another integrator finds the same ride."""

import numpy as np
import pytest

from damping_model.errors import GeometryError
from damping_model.ride.damping_curve import DampingCurve
from damping_model.ride.inputs import CornerInput
from damping_model.ride.machine import Body, RidingMachine
from damping_model.ride.roads import hollow, lip, rollers, square_edge, uneven
from damping_model.ride.simulate import Start, simulate
from tests.helpers.counts import tries
from tests.helpers.riding import linear_corner, on_one, on_two, real_corner

ROADS = {
    "edge": square_edge(height=0.06, speed=5.0, wheel_radius=0.35),
    "rollers": rollers(height=0.1, length=2.0, speed=6.0, count=4),
    "hollow": hollow(depth=0.3, length=5.0, speed=10.0),
    "lip": lip(height=0.4, length=2.0, speed=6.0),
    "rough": uneven(road_class="D", speed=6.0, seed=1),
}


@pytest.mark.parametrize("road", ROADS)
def test_what_goes_in_is_lost_or_stored(road: str) -> None:
    for seed in range(tries(quick=2, thorough=25)):
        ride = simulate(on_one(real_corner(seed=seed)), [CornerInput(road=ROADS[road])], duration=1.2)
        assert abs(ride.energy().imbalance) < 1e-6, seed


def test_the_balance_holds_in_a_fall_and_under_loads_on_two_corners() -> None:
    for seed in range(tries(quick=2, thorough=25)):
        machine = on_two(real_corner(seed=2 * seed), real_corner(seed=2 * seed + 1))
        fall = simulate(machine, [CornerInput()] * 2, duration=1.5, start=Start(fall=0.8))
        pull = CornerInput(
            load=lambda t: 300.0 * np.sin(9.0 * t) ** 2, on_wheel=lambda t: -90.0 * np.sin(9.0 * t)
        )
        driven = simulate(machine, [CornerInput(road=ROADS["edge"]), pull], duration=1.5)
        assert abs(fall.energy().imbalance) < 1e-6, seed
        assert abs(driven.energy().imbalance) < 1e-6, seed


def test_a_ledger_that_leaves_something_out_would_be_seen() -> None:
    energy = simulate(on_one(real_corner(seed=1)), [CornerInput(road=ROADS["edge"])], duration=1.2).energy()
    assert min(energy.rubbed, energy.in_tyres, *energy.damped) > 1e-4 * energy.throughput


@pytest.mark.parametrize("method", ["DOP853", "Radau"])
@pytest.mark.parametrize("road", ["edge", "rollers"])
def test_another_method_finds_the_same_ride(method: str, road: str) -> None:
    if method == "Radau" and tries(quick=0, thorough=1) == 0:
        pytest.skip("only with --thorough: implicit steps in Python are slow")
    for seed in range(tries(quick=1, thorough=6)):
        machine = on_one(real_corner(seed=seed))
        one = simulate(machine, [CornerInput(road=ROADS[road])], duration=0.8)
        other = simulate(machine, [CornerInput(road=ROADS[road])], duration=0.8, method=method)
        for ours, theirs in (
            (one.travel(0), other.travel(0)),
            (one.shaft_velocity(0), other.shaft_velocity(0)),
        ):
            assert np.abs(ours - theirs).max() < 1e-4 * np.ptp(ours)


def test_a_body_on_two_corners_moves_as_a_rigid_one() -> None:
    """Kinetic energy of its ends is that of its centre of mass and its turning."""
    body = Body(shares=(35.0, 55.0), wheelbase=1.2, pitch_inertia=17.0)
    a, b = 1.2 * 55.0 / 90.0, 1.2 * 35.0 / 90.0
    heave, turning = 0.7, -1.3
    ends = np.array([heave + a * turning, heave - b * turning])
    by_ends = 0.5 * ends @ np.linalg.inv(body.weights) @ ends
    assert by_ends == pytest.approx(0.5 * 90.0 * heave**2 + 0.5 * 17.0 * turning**2)


def test_ends_move_apart_where_the_inertia_is_that_of_two_masses() -> None:
    assert Body(shares=(35.0, 55.0), wheelbase=1.2).weights == pytest.approx(np.diag([1 / 35, 1 / 55]))


def test_a_machine_at_rest_stays_at_rest() -> None:
    ride = simulate(on_two(real_corner(seed=1), real_corner(seed=2)), [CornerInput()] * 2, duration=1.0)
    for corner in (0, 1):
        assert np.ptp(ride.travel(corner)) < 1e-8


def test_a_tyre_leaves_the_ground_and_never_pulls() -> None:
    ride = simulate(on_one(real_corner(seed=1)), [CornerInput(road=ROADS["lip"])], duration=1.0)
    assert ride.tyre_force(0).min() == 0.0


def test_what_rests_nowhere_is_refused_with_its_figures() -> None:
    corner = linear_corner(stiffness=2000.0, damping=300.0, unsprung=4.0, tyre=1e5)
    machine = RidingMachine(body=Body(shares=(5000.0,)), corners=(corner,))
    with pytest.raises(GeometryError, match=r"got 4.903e\+04 N on a spring .* it carries that nowhere"):
        simulate(machine, [CornerInput()], duration=1.0)


def test_a_damper_that_pushes_is_refused() -> None:
    with pytest.raises(GeometryError, match="got a damper that pushes"):
        DampingCurve((-1.0, 0.0, 1.0), (100.0, 0.0, 100.0))
