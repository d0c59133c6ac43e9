"""Shares, densities and moments of motions whose figures can be worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.errors import InputError
from optimiser.intake.complaint import NamedBand
from optimiser.ride_log.beside import beside
from optimiser.ride_log.moment import moment_of
from optimiser.ride_log.prediction_error import prediction_error
from optimiser.ride_log.shares import density, faster_than, peaks, shares
from optimiser.ride_log.trace import Linkage, WheelMotion

BANDS = (NamedBand("low", 0.1, 0.5), NamedBand("mid", 0.5, 1.0))
RATE = 1000.0
CURVE = LeverageCurve.constant(travel=0.16, leverage_ratio=2.0)


def swing(
    *, peak: float = 1.0, frequency: float = 2.0, seconds: float = 4.0, delay: float = 0.0
) -> WheelMotion:
    """A wheel that swings about the middle of its travel, its shaft's velocity a cosine."""
    time = np.arange(0, seconds, 1 / RATE)
    phase = 2 * math.pi * frequency * (time - delay)
    shaft = 0.04 + peak / (2 * math.pi * frequency) * np.sin(phase)
    velocity = peak * np.cos(phase)
    return WheelMotion(
        corner="rear",
        rate=RATE,
        cut_off=50.0,
        time=time,
        wheel_travel=2 * shaft,
        shaft_travel=shaft,
        wheel_velocity=2 * velocity,
        shaft_velocity=velocity,
        counted=np.ones(time.size, dtype=bool),
        linkage=Linkage(leverage=CURVE),
        notes=(),
    )


def arc(low: float, high: float) -> float:
    """Share of a swing's time between two parts of its peak velocity, in one stroke."""
    return (math.acos(low) - math.acos(min(high, 1.0))) / math.pi


def test_shares_of_a_swing_are_those_of_the_arc_and_add_up_to_all_of_it() -> None:
    found = shares(swing(peak=0.9999), BANDS)
    expected = [2 * arc(0, 0.1), arc(0.1, 0.5), arc(0.5, 1), 0.0, arc(0.1, 0.5), arc(0.5, 1), 0.0]
    assert [one.time for one in found] == pytest.approx(expected, abs=0.004)
    assert sum(one.time for one in found) == pytest.approx(1, abs=2e-3)
    ways = [one.way for one in found if one.band == "mid"]
    assert ways == pytest.approx([math.sqrt(1 - 0.25) / 2] * 2, abs=0.003)


def test_the_share_of_time_faster_than_a_speed_is_the_arc_above_it() -> None:
    speeds = np.array([0.0, 0.3, 0.9, 1.5])
    found = faster_than(swing(), "rebound", speeds)
    assert found == pytest.approx([0.5, arc(0.3, 1), arc(0.9, 1), 0.0], abs=0.002)


def test_the_fastest_of_each_stroke_is_found_in_its_place() -> None:
    compression, rebound = peaks(swing())
    assert (compression.velocity, rebound.velocity) == pytest.approx((1.0, 1.0), abs=1e-4)
    assert compression.travel == pytest.approx(0.08, abs=1e-4)
    assert rebound.at == pytest.approx(0.25, abs=0.01)


def test_the_density_counts_every_moment_once_and_has_the_columns_of_the_shares() -> None:
    found = density(swing(), columns=8, rows=5)
    assert found.share.sum() == pytest.approx(1)
    assert found.share.shape == (5, 8)
    assert found.share[:, :4].sum() == pytest.approx(0.5, abs=0.003)


def test_the_band_of_a_swing_holds_four_fifths_of_a_plain_damper_s_work() -> None:
    """Half of the work of a swing is done in each stroke; below v of the peak it is (2 a - sin 2 a)/pi, a = asin v."""

    def below(part: float) -> float:
        angle = math.asin(part)
        return (2 * angle - math.sin(2 * angle)) / math.pi

    found = moment_of(swing(), 1.0, 3.0, stroke="compression")
    assert below(found.low) == pytest.approx(0.1, abs=0.005)
    assert below(found.high) == pytest.approx(0.9, abs=0.005)
    assert found.time_in_run == pytest.approx(arc(found.low, found.high), abs=0.003)
    assert found.way_here == pytest.approx(0.5, abs=0.01)


def test_the_stroke_in_which_the_shaft_goes_farther_is_taken_unless_one_is_named() -> None:
    assert moment_of(swing(), 0.9, 1.1).stroke == "compression"
    assert moment_of(swing(), 1.15, 1.35).stroke == "rebound"
    assert moment_of(swing(), 1.0, 1.6, stroke="rebound").stroke == "rebound"


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (2.0, 1.0, "Swap them"),
        (1.0, 1.001, "widen it"),
        (9.0, 10.0, "expected one in the run"),
        (float("nan"), 1.0, "Swap them"),
    ],
)
def test_a_moment_that_is_none_is_refused_with_the_way_out(first: float, last: float, said: str) -> None:
    with pytest.raises(InputError, match=said):
        moment_of(swing(), first, last)


def test_a_moment_in_a_gap_is_refused() -> None:
    motion = swing()
    motion.counted[1000:2000] = False
    with pytest.raises(InputError, match="gap"):
        moment_of(motion, 1.1, 1.9)


def test_a_run_beside_itself_later_is_off_by_its_delay_and_nothing_else() -> None:
    rng = np.random.default_rng(3)
    one = swing(seconds=6.0)
    walk = np.convolve(rng.standard_normal(one.time.size + 200), np.ones(201) / 201, "valid")
    one.wheel_travel[:] += 0.1 * walk[: one.time.size]
    later = swing(seconds=6.0)
    later.wheel_travel[400:] = one.wheel_travel[:-400]
    later.shaft_velocity[400:] = one.shaft_velocity[:-400]
    later.counted[:400] = False
    found = beside(later, one, BANDS)
    assert found.in_time is not None
    assert found.in_time.delay == pytest.approx(0.4, abs=0.006)
    assert found.in_time.travel_error < 1e-4
    assert found.in_time.correlation > 0.999
    error = prediction_error(found)
    assert error.travel == found.in_time.travel_error
    assert error.share == max(abs(one.more) for one in found.shares)


def test_a_short_piece_is_found_in_a_long_run_where_it_was_cut_out() -> None:
    rng = np.random.default_rng(5)
    run = swing(seconds=12.0)
    walk = np.convolve(rng.standard_normal(run.time.size + 300), np.ones(301) / 301, "valid")
    run.wheel_travel[:] = 0.05 + 0.2 * walk[: run.time.size]
    run.wheel_travel[8000:9000] += 0.1
    piece = swing(seconds=1.5)
    piece.wheel_travel[:] = run.wheel_travel[3000:4500] + 0.002
    piece.shaft_velocity[:] = run.shaft_velocity[3000:4500]
    whole = beside(run, piece, BANDS)
    found = whole.in_time
    assert found is not None
    assert all(abs(one.more) < 0.01 for one in whole.shares)
    assert whole.deepest[0] == pytest.approx(whole.deepest[1] - 0.002, abs=1e-4)
    assert found.delay == pytest.approx(3.0, abs=0.006)
    assert found.travel_error == pytest.approx(0.002, abs=1e-4)


def test_two_rides_that_are_not_one_are_compared_by_shares_alone() -> None:
    rng = np.random.default_rng(4)
    one, other = swing(), swing()
    for motion in (one, other):
        motion.wheel_travel[:] = 0.08 + 0.01 * np.convolve(
            rng.standard_normal(4200), np.ones(201) / 14, "valid"
        )
    found = beside(one, other, BANDS)
    assert found.in_time is None
    with pytest.raises(InputError, match="not one ride"):
        prediction_error(found)
