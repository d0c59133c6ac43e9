"""Words are no finer than an adjuster: worked by hand on needles that move force by known shares."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from optimiser.intake.bands import HoldBand, TargetBand
from optimiser.intake.brackets import Adjuster
from optimiser.intake.complaint import NamedBand
from optimiser.intake.goal_builder import Forces, goal_from_bands
from optimiser.intake.one_click import Turning, as_fine_as, nearest_click, other_stroke_eased

TARGET = TargetBand("pogo", "rebound", 0.04, 0.15, 0.04, shift=0.10, in_words=True)
BANDS = (NamedBand("low", 0.04, 0.15), NamedBand("high", 0.6, 1.5))


def needle(step: float, *, other: float = 0.0, high: float = 0.0, at: int = 4) -> Turning:
    """One needle: each click in adds a share of rebound below 0.2 m/s, and other shares elsewhere."""

    def forces_at(clicks: Mapping[str, int]) -> Forces:
        inwards = at - clicks.get("rebound", at)

        def forces(velocities: NDArray[np.float64]) -> NDArray[np.float64]:
            slow = np.where(np.abs(velocities) < 0.2, step, high)
            share = np.where(velocities < 0, slow, other)
            return np.asarray(1000 * np.abs(velocities) * (1 + inwards * share))

        return forces

    return Turning((Adjuster("rebound", 8, at),), forces_at)


def test_a_coarse_click_widens_words_to_half_of_what_lies_between_two_positions() -> None:
    click = nearest_click(TARGET, [], needle(0.18))
    assert click is not None
    assert (click.adjuster, click.position) == ("rebound", 3)
    assert click.shift == pytest.approx(0.18)
    assert as_fine_as(click, TARGET).tolerance == pytest.approx(0.09)


def test_a_fine_clicker_leaves_words_as_they_are() -> None:
    click = nearest_click(TARGET, [], needle(0.03))
    assert click is not None
    assert click.position == 1  # three clicks give 9 %, four 12 %
    assert as_fine_as(click, TARGET) == TARGET


def test_less_force_is_found_on_the_other_side() -> None:
    click = nearest_click(replace(TARGET, shift=-0.10), [], needle(0.07))
    assert click is not None
    assert (click.position, click.shift) == (5, pytest.approx(-0.07))


@pytest.mark.parametrize(
    ("turning", "why"),
    [
        (needle(0.25), "it is nearer to 10 % where it stands than one click in, at 25 %"),
        (needle(0.02), "closed, it gives 8 %"),
        (needle(0.06, other=0.2), "it is the other stroke's"),
        (Turning((), needle(0.06).forces_at), "there is none"),
    ],
)
def test_an_adjuster_that_does_not_get_there_has_no_say(turning: Turning, why: str) -> None:
    assert nearest_click(TARGET, [], turning) is None, why


def test_a_click_that_breaks_a_held_band_of_its_own_stroke_has_no_say() -> None:
    hold = HoldBand("high speed", "rebound", 0.6, 1.5, 0.06)
    assert nearest_click(TARGET, [hold], needle(0.12, high=0.08)) is None
    assert nearest_click(TARGET, [hold], needle(0.12, high=0.05)) is not None


def test_what_a_click_lends_to_the_other_stroke_is_allowed_there_and_no_more() -> None:
    hold = HoldBand("all compression", "compression", 0.04, 1.5, 0.06)
    turning = needle(0.18, other=0.09)
    click = nearest_click(TARGET, [], turning)
    assert click is not None
    eased = other_stroke_eased(hold, click, turning, BANDS)
    assert [(part.name, part.tolerance) for part in eased] == [
        ("low speed compression", pytest.approx(0.092)),
        ("high speed compression", pytest.approx(0.092)),
    ]
    assert other_stroke_eased(hold, click, needle(0.18, other=0.01), BANDS) == (hold,)


@pytest.mark.parametrize(("shift", "least", "most"), [(0.10, 0.02, 0.35), (-0.10, -0.35, -0.02)])
def test_each_velocity_follows_the_averages_that_will_do_when_asked_in_words(
    shift: float, least: float, most: float
) -> None:
    """10 % within 4: the average is 6 to 14 %, so a velocity may do a third of 6 to two and a half of 14."""

    def window(*, in_words: bool) -> tuple[float, float]:
        goal = goal_from_bands(
            targets=[replace(TARGET, shift=shift, in_words=in_words)],
            holds=[],
            familiarity=None,
            forces=needle(0.1).forces_at({}),
            least_height=0.0,
            most_height=1.0,
        )
        one = goal.windows[0]
        return one.lower[0] / one.before[0] - 1, one.upper[0] / one.before[0] - 1

    assert window(in_words=True) == pytest.approx((least, most))
    assert window(in_words=False) == pytest.approx(sorted((shift / 3, 2.5 * shift)))


def test_words_that_allow_next_to_nothing_never_allow_the_wrong_way() -> None:
    goal = goal_from_bands(
        targets=[replace(TARGET, tolerance=0.15)],
        holds=[],
        familiarity=None,
        forces=needle(0.1).forces_at({}),
        least_height=0.0,
        most_height=1.0,
    )
    window = goal.windows[0]
    assert window.lower == pytest.approx(window.before)
