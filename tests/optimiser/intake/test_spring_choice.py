"""The spring that brings sag in is found by the spring's own arithmetic: put it in, and the sag is there."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from damping_model.vehicle.leverage import LeverageCurve
from damping_model.vehicle.spring import AirSpring, CoilSpring
from optimiser.intake.machine import AirPressure, Corner
from optimiser.intake.spring_choice import spring_for_sag

FALLING = LeverageCurve.from_leverage_ratio(wheel=[0, 0.07, 0.14], leverage_ratio=[2.9, 2.6, 2.3])
AIR = AirSpring(pressure=13e5, area=1.2e-3, volume=104e-6, negative_volume=26e-6)


def wheel_force(corner: Corner, spring: AirSpring | CoilSpring, travel: float) -> float:
    force = spring.force(shaft_travel=corner.leverage.shaft_travel(wheel_travel=travel))
    return corner.leverage.wheel_force(shaft_force=force, wheel_travel=travel)


@given(
    spring=st.one_of(
        st.builds(CoilSpring, stiffness=st.floats(4e4, 2e5), preload=st.floats(0, 0.008)),
        st.floats(5e5, 2e6).map(AIR.at_pressure),
        st.builds(AirSpring, pressure=st.floats(5e5, 2e6), area=st.just(8e-4), volume=st.just(90e-6)),
    ),
    measured=st.floats(0.02, 0.07),
    wanted=st.floats(0.02, 0.07),
)
def test_the_suggested_spring_carries_the_same_load_at_the_wanted_sag(
    spring: AirSpring | CoilSpring, measured: float, wanted: float
) -> None:
    corner = Corner("rear", "rear", FALLING, spring)
    change = spring_for_sag(corner=corner, measured=measured, wanted=wanted, most_preload=0.012)
    assert change is not None
    fitted = change.spring
    assert isinstance(fitted, AirSpring | CoilSpring)
    load = wheel_force(corner, spring, measured)
    sag = brentq(lambda x: wheel_force(corner, fitted, x) - load, 0, 0.139)
    assert sag == pytest.approx(wanted, abs=1e-6)


def test_by_hand_a_straight_lever_with_a_coil() -> None:
    """2.5:1, 80 N/mm at 2 mm of preload, 60 mm of sag: 24 mm at the shaft carry 80 x 26 = 2080 N.

    37.5 mm of sag are 15 mm at the shaft: 2080/80 - 15 = 11 mm of preload.
    """
    lever = LeverageCurve.constant(travel=0.15, leverage_ratio=2.5)
    corner = Corner("rear", "rear", lever, CoilSpring(stiffness=8e4, preload=0.002))
    change = spring_for_sag(corner=corner, measured=0.06, wanted=0.0375, most_preload=0.012)
    assert change is not None
    assert change.do_this == "Set the preload to 11.0 mm instead of 2.0 mm."
    change = spring_for_sag(corner=corner, measured=0.06, wanted=0.0375, most_preload=0.010)
    assert change is not None
    assert isinstance(change.spring, CoilSpring)
    assert change.spring.stiffness == pytest.approx(2080 / 0.017)
    assert change.do_this.startswith("Fit a spring of 122 N/mm instead of 80 N/mm, at 2.0 mm of preload")


def test_a_known_pressure_alone_grows_with_the_sag_that_is_to_go() -> None:
    corner = Corner("front", "front", LeverageCurve.fork(travel=0.16), AirPressure(pressure=6e5))
    change = spring_for_sag(corner=corner, measured=0.048, wanted=0.032, most_preload=0.012)
    assert change is not None
    assert isinstance(change.spring, AirPressure)
    assert change.spring.pressure == pytest.approx(1.5 * (6e5 + 101325) - 101325)
    assert "expect to correct once" in change.assumption


def test_nothing_is_suggested_where_the_spring_is_not_known() -> None:
    corner = replace(Corner("rear", "rear", FALLING, AIR), spring=None)
    assert spring_for_sag(corner=corner, measured=0.05, wanted=0.04, most_preload=0.012) is None
