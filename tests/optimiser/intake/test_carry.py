"""A known feel at the wheel becomes the other frame's goal, and what no stack can mend is said."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.errors import InputError
from optimiser.intake.carry import Carried, CarryBand, carry_over
from optimiser.intake.carry_goal import carried_goal

FALLING = LeverageCurve.from_leverage_ratio(wheel=[0, 0.07, 0.14], leverage_ratio=[2.9, 2.6, 2.3])
STEEPER = LeverageCurve.from_leverage_ratio(wheel=[0, 0.08, 0.16], leverage_ratio=[3.2, 2.6, 2.2])
BAND = CarryBand("edges", "compression", 1.0, 3.0, 0.05)


def digressive(velocities: NDArray[np.float64] | float) -> NDArray[np.float64]:
    return np.asarray(600 * np.abs(velocities) ** 0.7)


def carry(
    known: LeverageCurve = FALLING,
    new: LeverageCurve = FALLING,
    bands: Sequence[CarryBand] = (BAND,),
    new_forces: Callable[..., Any] = digressive,
    **kwargs: Any,
) -> Carried:
    return carry_over(
        bands=bands, known=known, known_forces=digressive, new=new, new_forces=new_forces, **kwargs
    )


def test_the_same_frame_asks_for_the_same_damper() -> None:
    carried = carry()
    assert carried.windows[0].desired == pytest.approx(carried.windows[0].before)
    assert carried.worst.miss == pytest.approx(0)
    assert carried.reachable


@given(st.floats(1.5, 3.5), st.floats(1.5, 3.5))
def test_constant_ratios_agree_all_along_and_the_wheel_feels_alike(one: float, other: float) -> None:
    known = LeverageCurve.constant(travel=0.14, leverage_ratio=one)
    new = LeverageCurve.constant(travel=0.16, leverage_ratio=other)
    carried = carry(known=known, new=new)
    window = carried.windows[0]
    for velocity, desired in zip(window.velocities, window.desired, strict=True):
        wheel = velocity * other
        assert desired / other == pytest.approx(digressive(wheel / one) / one)
    assert abs(carried.worst.miss) < 1e-12


def test_by_hand_for_a_straight_damper_a_ratio_half_as_long_asks_for_four_times_the_force() -> None:
    """Damping at the wheel goes with the motion ratio squared."""
    known = LeverageCurve.constant(travel=0.1, leverage_ratio=1.5)
    new = LeverageCurve.constant(travel=0.1, leverage_ratio=3.0)
    carried = carry_over(
        bands=[BAND],
        known=known,
        known_forces=lambda v: 1000 * abs(v),
        new=new,
        new_forces=lambda v: 1000 * abs(v),
    )
    window = carried.windows[0]
    assert np.array(window.desired) == pytest.approx(4 * np.array(window.before))


def test_frames_with_other_curves_cannot_agree_everywhere_and_the_place_is_named() -> None:
    carried = carry(new=STEEPER, bands=[CarryBand("edges", "compression", 1.0, 3.0, 0.01)])
    assert not carried.reachable
    assert "cannot feel alike all along the travel" in carried.said
    assert carried.worst.travel_share in {0.1, 0.9}
    ends = [d.miss for d in carried.disagreements if d.travel_share in {0.1, 0.9}]
    assert ends[0] == pytest.approx(-ends[1])


def test_no_other_force_misses_all_places_by_less() -> None:
    carried = carry(new=STEEPER)
    worst = abs(carried.worst.miss)
    velocities, desired = np.array(carried.windows[0].velocities), np.array(carried.windows[0].desired)
    ratios = np.array([d.ratio for d in carried.disagreements])
    asked = ratios[:, None] * digressive(ratios[:, None] * velocities)
    for scale in (0.98, 0.99, 0.999, 1.001, 1.01, 1.02):
        assert np.abs(scale * desired / asked - 1).max() > worst


def test_a_shorter_stretch_disagrees_by_less() -> None:
    whole, part = carry(new=STEEPER), carry(new=STEEPER, stretch=(0.25, 0.5))
    assert abs(part.worst.miss) < abs(whole.worst.miss)


def test_rebound_is_carried_with_negative_velocities() -> None:
    carried = carry(bands=[CarryBand("return", "rebound", 0.5, 1.0, 0.05)])
    assert max(carried.windows[0].velocities) < 0


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"bands": []}, "got no band to carry over"),
        ({"stretch": (0.8, 0.2)}, "got travel from 80 % to 20 %, expected the shallow end first"),
        ({"bands": [CarryBand("x", "compression", 2.0, 1.0, 0.05)]}, "got 2 to 1 m/s, expected the lower"),
    ],
)
def test_what_cannot_be_carried_is_refused(change: dict[str, Any], text: str) -> None:
    with pytest.raises(InputError, match=text):
        carry(**change)


def test_a_carried_goal_says_what_each_band_asks_and_what_cannot_be_had() -> None:
    """2.5:1 to 2:1: the shaft turns 1.25 times as fast, and 1 / 1.25 of the force there is wanted, twice over."""
    built = carried_goal(
        bands=[BAND],
        known=LeverageCurve.constant(travel=0.14, leverage_ratio=2.5),
        known_forces=lambda v: 1000 * abs(v),
        new=LeverageCurve.constant(travel=0.14, leverage_ratio=2.0),
        new_forces=lambda v: 1000 * abs(v),
        least_height=0.002,
        most_height=0.003,
    )
    assert built.reasons[0].startswith("The two frames can feel alike along the travel")
    assert (
        built.reasons[1]
        == "'edges' is 0.5 to 1.5 m/s at the new shaft and asks for −36 % to −36 % of what is there."
    )
    assert (built.goal.least_height, built.goal.most_height) == (0.002, 0.003)
