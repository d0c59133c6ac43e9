"""Bands that nobody gave in numbers end where the oil would boil."""

from __future__ import annotations

import math

import pytest

from optimiser.errors import InputError
from optimiser.intake.bands import HoldBand, Stroke, TargetBand
from optimiser.intake.promise import MARGIN, within_promise

TARGET = TargetBand("support", "compression", 0.06, 0.20, 0.03, shift=0.08)
EDGES = HoldBand("edges", "compression", 0.7, 1.6, 0.02)
REBOUND = HoldBand("all rebound", "rebound", 0.04, 1.6, 0.04)


def ends(compression: float = math.inf, rebound: float = math.inf) -> dict[Stroke, float]:
    return {"compression": compression, "rebound": rebound}


def test_without_an_end_every_band_stays_and_nothing_is_said() -> None:
    assert within_promise([EDGES, REBOUND], ends()) == ((EDGES, REBOUND), ())


def test_a_band_ends_a_little_before_the_oil_would_boil_and_says_so() -> None:
    (kept,), (said,) = within_promise([REBOUND], ends(rebound=0.9))
    assert (kept.low, kept.high) == (0.04, pytest.approx(MARGIN * 0.9))
    assert "'all rebound'" in said
    assert "beyond 0.9 m/s the oil would boil" in said


def test_the_other_stroke_has_an_end_of_its_own() -> None:
    kept, said = within_promise([EDGES], ends(rebound=0.9))
    assert (kept, said) == ((EDGES,), ())


def test_a_held_band_beyond_it_is_left_out_and_named() -> None:
    kept, (said,) = within_promise([EDGES], ends(compression=0.72))
    assert kept == ()
    assert "'edges'" in said
    assert "is not judged" in said


def test_a_target_beyond_it_is_refused_with_the_remedy_first() -> None:
    with pytest.raises(InputError, match="lies where no figure can be promised") as refused:
        within_promise([TARGET], ends(compression=0.05))
    assert "more gas pressure, as the maker's manual allows" in str(refused.value)
