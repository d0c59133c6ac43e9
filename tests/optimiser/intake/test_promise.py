"""Bands that nobody gave in numbers leave out where the oil would boil."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from damping_model.damper.boiling import Boiling
from damping_model.units import BAR
from optimiser.intake.bands import HoldBand, Stroke, TargetBand
from optimiser.intake.promise import (
    MARGIN,
    NO_CHANGE,
    BeyondPromiseError,
    Boils,
    Change,
    nothing_boils,
    within_promise,
)

TARGET = TargetBand("support", "compression", 0.06, 0.20, 0.03, shift=0.08)
EDGES = HoldBand("edges", "compression", 0.7, 1.6, 0.02)
REBOUND = HoldBand("all rebound", "rebound", 0.04, 1.6, 0.04)


def between(stroke: Stroke, slowest: float, fastest: float) -> Boils:
    """Oil that boils in one stretch of one stroke."""

    def boils(asked: Stroke, low: float, high: float, change: Change) -> Sequence[Boiling]:
        if asked != stroke or high <= slowest or low >= fastest:
            return ()
        one = Boiling(
            chamber="above",
            sign=1 if stroke == "compression" else -1,
            slowest=max(low, slowest),
            fastest=min(high, fastest),
            gas_pressure=2 * BAR,
            gas_needed=3.21 * BAR,
            fed_through=("mid valve", "inlet"),
            held_up_by=("base valve",),
        )
        return (one,)

    return boils


def test_where_nothing_boils_every_band_stays_and_nothing_is_said() -> None:
    assert within_promise([EDGES, REBOUND], nothing_boils) == ((EDGES, REBOUND), ())


def test_a_band_ends_a_little_before_the_oil_would_boil_and_says_in_which_chamber() -> None:
    (kept,), (said,) = within_promise([REBOUND], between("rebound", 0.9, 9))
    assert (kept.low, kept.high) == (0.04, pytest.approx(MARGIN * 0.9))
    assert "'all rebound'" in said
    assert "from 0.9 m/s on the oil in 'above' would boil in rebound" in said


def test_the_other_stroke_has_an_end_of_its_own() -> None:
    assert within_promise([EDGES], between("rebound", 0.9, 9)) == ((EDGES,), ())


def test_of_a_band_whose_middle_boils_the_longest_part_is_kept_and_named() -> None:
    (kept,), (said,) = within_promise([REBOUND], between("rebound", 0.05, 0.2))
    assert (kept.low, kept.high) == (pytest.approx(0.2 / MARGIN), 1.6)
    assert "begins at 0.2 and ends at 1.6 m/s: from 0.05 m/s to 0.2 m/s the oil" in said
    (kept,), _ = within_promise([REBOUND], between("rebound", 0.7, 1.5))
    assert (kept.low, kept.high) == (0.04, pytest.approx(MARGIN * 0.7))


def test_a_held_band_beyond_it_is_left_out_and_named() -> None:
    kept, (said,) = within_promise([EDGES], between("compression", 0.72, 9))
    assert kept == ()
    assert "'edges'" in said
    assert "is not judged" in said


def test_a_target_beyond_it_gets_the_remedy_first_with_figures() -> None:
    with pytest.raises(BeyondPromiseError) as beyond:
        within_promise([TARGET], between("compression", 0.05, 9))
    finding = beyond.value.finding
    assert finding.stops
    assert not finding.may_override
    assert "from 0.06 m/s on the oil in 'above' would boil in compression" in finding.got
    assert "at least 3.3 bar of gas (gauge; 2.0 bar now)" in finding.do_this
    less, more = "in 'mid valve', then 'inlet'", "more resistance in 'base valve'"
    assert f"less resistance to the oil that fills 'above', {less}" in finding.do_this
    assert more in finding.do_this


def sooner_when_changed(as_it_is: float, changed: float) -> Boils:
    """Oil that boils in compression from one speed on, and sooner once the force has changed."""

    def boils(asked: Stroke, low: float, high: float, change: Change) -> Sequence[Boiling]:
        from_here = as_it_is if change == NO_CHANGE else changed
        return between("compression", from_here, 9)(asked, low, high, change)

    return boils


def test_a_held_band_leaves_its_own_tolerance_room_before_the_oil_boils() -> None:
    (kept,), (said,) = within_promise([EDGES], sooner_when_changed(1.5, 1.4))
    assert kept.high == pytest.approx(MARGIN * 1.4)
    assert "from 1.5 m/s on the oil in 'above' would boil in compression" in said
    assert "with −2 % or +2 % of force from the stack, from 1.4 m/s on" in said


def test_a_target_ends_where_the_wanted_force_would_boil_although_it_does_not_now() -> None:
    (kept,), (said,) = within_promise([TARGET], sooner_when_changed(9, 0.15))
    assert kept.high == pytest.approx(MARGIN * 0.15)
    assert "'support'" in said
    assert "with +8 % of force" in said


def test_a_target_that_this_would_leave_nothing_of_goes_as_far_as_the_stack_as_it_is() -> None:
    (kept,), (said,) = within_promise([TARGET], sooner_when_changed(0.18, 0.062))
    assert kept.high == pytest.approx(MARGIN * 0.18)
    assert "of force" not in said
    assert within_promise([TARGET], sooner_when_changed(9, 0.062)) == ((TARGET,), ())
