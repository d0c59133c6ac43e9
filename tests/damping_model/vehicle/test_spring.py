"""Springs: the rate is the slope of the force, and the limits are those of the gas laws."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from damping_model.errors import GeometryError
from damping_model.vehicle.spring import ATMOSPHERE, AirSpring, CoilSpring

AIR = AirSpring(pressure=12e5, area=8e-4, volume=75e-6, negative_volume=12e-6)
springs = st.one_of(
    st.builds(CoilSpring, stiffness=st.floats(1e3, 2e5), preload=st.floats(0, 0.02)),
    st.builds(
        AirSpring,
        pressure=st.floats(1e5, 2e6),
        area=st.floats(2e-4, 1e-3),
        volume=st.floats(60e-6, 200e-6),
        negative_volume=st.one_of(st.just(0.0), st.floats(5e-6, 40e-6)),
        exponent=st.floats(1, 1.4),
    ),
)


@given(springs, st.floats(0.001, 0.04))
def test_the_rate_is_the_slope_of_the_force(spring: AirSpring | CoilSpring, travel: float) -> None:
    h = 1e-6
    slope = (spring.force(shaft_travel=travel + h) - spring.force(shaft_travel=travel - h)) / (2 * h)
    assert spring.rate(shaft_travel=travel) == pytest.approx(slope, rel=1e-5)


@given(springs)
def test_the_force_rises_along_the_stroke(spring: AirSpring | CoilSpring) -> None:
    forces = [spring.force(shaft_travel=travel / 1000) for travel in range(0, 50, 5)]
    assert forces == sorted(forces)


def test_an_air_spring_with_a_negative_chamber_pushes_with_nothing_at_full_extension() -> None:
    assert AIR.force(shaft_travel=0.0) == pytest.approx(0, abs=1e-9)


def test_half_the_volume_is_twice_the_absolute_pressure_when_the_air_has_time() -> None:
    """Boyle's law."""
    spring = AirSpring(pressure=5e5, area=1e-3, volume=100e-6)
    assert spring.force(shaft_travel=0.05) == pytest.approx(1e-3 * (2 * (5e5 + ATMOSPHERE) - ATMOSPHERE))


def test_with_a_negative_chamber_the_force_goes_with_the_absolute_pressure() -> None:
    doubled = AIR.at_pressure(2 * (AIR.pressure + ATMOSPHERE) - ATMOSPHERE)
    assert doubled.force(shaft_travel=0.02) == pytest.approx(2 * AIR.force(shaft_travel=0.02))


def test_a_large_chamber_makes_a_spring_of_constant_force() -> None:
    spring = AirSpring(pressure=5e5, area=1e-3, volume=10.0)
    assert spring.force(shaft_travel=0.05) == pytest.approx(spring.force(shaft_travel=0), rel=1e-4)


def test_air_without_room_is_refused() -> None:
    with pytest.raises(GeometryError, match="no room left"):
        AIR.force(shaft_travel=0.1)


@pytest.mark.parametrize("bad", [0.0, -1.0, float("nan")])
def test_what_is_no_spring_is_refused(bad: float) -> None:
    with pytest.raises(GeometryError, match="expected a rate above 0"):
        CoilSpring(stiffness=bad)
    with pytest.raises(GeometryError, match="expected each above 0"):
        AirSpring(pressure=bad, area=1e-3, volume=1e-4)
    with pytest.raises(GeometryError, match="gas exponent"):
        AirSpring(pressure=1e5, area=1e-3, volume=1e-4, exponent=0.5)
