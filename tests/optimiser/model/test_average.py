"""A band's average: a mean over the logarithm of velocity, by one measure everywhere."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import trapezoid

from optimiser.model import rank
from optimiser.model.band_result import EDGE, BandVerdict, band_result
from optimiser.model.goal import Average, Goal, Role, Window, mean_change, mean_weights

VELOCITIES = (0.05, 0.08, 0.12, 0.25)
BEFORE = (100.0, 130.0, 160.0, 220.0)


def window(*, lower: float = 0.0, upper: float = 1e9, average: Average | None = None) -> Window:
    four = (lower,) * 4, (upper,) * 4
    return Window("low", Role.TARGET, VELOCITIES, BEFORE, four[0], BEFORE, four[1], average=average)


def test_the_mean_change_is_the_trapezoidal_rule_over_the_logarithm_of_velocity() -> None:
    """Held against scipy's rule on uneven steps."""
    forces = np.array([110.0, 150.0, 170.0, 200.0])
    logs = np.log(VELOCITIES)
    expected = trapezoid(np.log(forces / np.array(BEFORE)), logs) / (logs[-1] - logs[0])
    assert mean_change(window(), forces) == pytest.approx(expected, rel=1e-12)


def test_the_parts_of_a_goal_are_its_velocities_in_order_each_once() -> None:
    short = Window("short", Role.HOLD, (-0.2,), (90.0,), (80.0,), (90.0,), (100.0,))
    goal = Goal((window(), short, window()), 0.0, 1.0)
    assert [goal.velocities[part].tolist() for _, part in goal.parts] == [
        list(one.velocities) for one in goal.windows
    ]
    assert [(part.start, part.stop) for _, part in goal.parts] == [(0, 4), (4, 5), (5, 9)]


def test_weights_add_up_to_one_in_either_stroke_and_for_a_single_velocity() -> None:
    for velocities in (VELOCITIES, tuple(-v for v in VELOCITIES), (0.1,), (0.1, 0.1)):
        assert mean_weights(velocities).sum() == pytest.approx(1.0)
        assert (mean_weights(velocities) > 0).all()


def test_a_band_that_moves_by_one_share_everywhere_has_that_mean() -> None:
    result = band_result(window(), [1.08 * force for force in BEFORE])
    assert result.mean == pytest.approx(0.08)
    assert (result.least, result.most) == (pytest.approx(0.08), pytest.approx(0.08))
    assert result.after / result.before == pytest.approx(1.08)


def test_more_force_at_any_velocity_never_lowers_the_mean() -> None:
    """So bounds of the forces bound the mean."""
    rng = np.random.default_rng(5)
    for _ in range(200):
        forces = rng.uniform(50.0, 300.0, 4)
        more = forces * (1 + rng.uniform(0.0, 0.2, 4))
        assert mean_change(window(), more) >= mean_change(window(), forces)


def test_twice_as_much_and_half_as_much_weigh_the_same() -> None:
    doubled = mean_change(window(), 2 * np.array(BEFORE))
    assert mean_change(window(), np.array(BEFORE) / 2) == pytest.approx(-doubled)


def test_the_misfit_counts_an_average_in_halves_of_its_width() -> None:
    asked = window(average=Average(np.log(1.04), np.log(1.06), np.log(1.08)))
    goal = Goal((asked,), 0.0, 1.0)
    half = (np.log(1.08) - np.log(1.04)) / 2
    assert rank.misfit(goal, 1.06 * np.array(BEFORE)) == 0.0
    beyond = (np.log(1.10) - np.log(1.08)) / half
    assert rank.misfit(goal, 1.10 * np.array(BEFORE)) == pytest.approx(beyond)
    assert rank.target_error(goal, 1.10 * np.array(BEFORE)) == pytest.approx(np.log(1.10 / 1.06))


@pytest.mark.parametrize(
    ("change", "verdict"),
    [
        (1.05, BandVerdict.IN_RANGE),
        (1.08, BandVerdict.IN_RANGE),
        (1.08 * (1 + EDGE / 2), BandVerdict.AT_THE_EDGE),
        (1.08 * (1 + 2 * EDGE), BandVerdict.OUT_OF_RANGE),
        (1.04 * (1 - EDGE / 2), BandVerdict.AT_THE_EDGE),
    ],
)
def test_a_limit_missed_by_less_than_the_model_s_accuracy_is_at_the_edge(
    change: float, verdict: BandVerdict
) -> None:
    asked = window(average=Average(np.log(1.04), np.log(1.06), np.log(1.08)))
    assert band_result(asked, [change * force for force in BEFORE]).verdict is verdict


def test_one_velocity_the_wrong_way_is_a_miss_whatever_the_mean() -> None:
    asked = Window(
        "low", Role.TARGET, VELOCITIES, BEFORE, tuple(1.02 * f for f in BEFORE), BEFORE,
        tuple(1.2 * f for f in BEFORE), average=Average(0.0, 0.05, 0.1),
    )  # fmt: skip
    forces = [0.98 * BEFORE[0], *(1.08 * force for force in BEFORE[1:])]
    result = band_result(asked, forces)
    assert 0.0 < result.mean < 0.1
    assert result.verdict is BandVerdict.OUT_OF_RANGE
    assert result.least_at == VELOCITIES[0]
