"""The nearest liked tune is the usual place to start; what differs is said."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.intake.nearest_tune import TuneSite, nearest_tunes


def lever(first: float, last: float) -> LeverageCurve:
    return LeverageCurve.from_leverage_ratio(wheel=[0, 0.14], leverage_ratio=[first, last])


WANTED = TuneSite("new", lever(2.8, 2.3), sprung_mass=50.0, wheel_rate=11_000.0)


def test_a_tune_for_the_same_frame_and_rider_is_at_no_distance() -> None:
    (near,) = nearest_tunes(wanted=WANTED, liked=[replace(WANTED, name="old")])
    assert near.distance == pytest.approx(0)
    assert near.said == "no difference that counts"


def test_the_nearest_comes_first() -> None:
    liked = [
        replace(WANTED, name="far", leverage=lever(3.4, 2.1)),
        replace(WANTED, name="near", sprung_mass=49.0),
        replace(WANTED, name="between", sprung_mass=40.0),
    ]
    assert [near.site.name for near in nearest_tunes(wanted=WANTED, liked=liked)] == [
        "near",
        "between",
        "far",
    ]


@given(st.floats(20, 100), st.floats(20, 100))
def test_distance_is_the_same_from_either_side(one: float, other: float) -> None:
    a, b = replace(WANTED, sprung_mass=one), replace(WANTED, sprung_mass=other)
    there, back = nearest_tunes(wanted=a, liked=[b])[0], nearest_tunes(wanted=b, liked=[a])[0]
    assert there.distance == pytest.approx(back.distance)


def test_what_differs_is_said_with_the_largest_first() -> None:
    liked = [replace(WANTED, name="old", sprung_mass=40.0, wheel_rate=12_000.0)]
    assert (
        nearest_tunes(wanted=WANTED, liked=liked)[0].said
        == "heavier by 25 %, softer spring at the wheel by 8 %"
    )


def test_a_spring_that_is_not_known_is_not_compared_and_that_is_said() -> None:
    liked = [replace(WANTED, name="old", wheel_rate=None)]
    near = nearest_tunes(wanted=WANTED, liked=liked)[0]
    assert "spring" not in near.differences
    assert near.said.endswith("spring not compared")


def test_no_record_gives_no_tune() -> None:
    assert nearest_tunes(wanted=WANTED, liked=[]) == ()
