"""How sure a plan is, in words: counted in hundreds, never more sure than was drawn."""

from __future__ import annotations

from dataclasses import replace

import pytest

from damping_model.stack.stack import Shim, Stack
from optimiser.report.sure_text import (
    chance_text,
    comes_in_stages,
    interval_text,
    missed_text,
    remedy_for,
    sure_words,
)
from optimiser.report.unit_system import UnitSystem
from optimiser.spread.drawn_forces import Built
from optimiser.spread.spread import BandSpread, Carrier, LeastSure, Spread
from optimiser.unknowns.unknown import Owner, Unknown

PLAIN = Stack((Shim(20e-3, 0.1e-3, 8e-3), Shim(16e-3, 0.1e-3, 8e-3)))
STAGED = Stack((Shim(20e-3, 0.1e-3, 8e-3), Shim(12e-3, 0.05e-3, 8e-3), Shim(18e-3, 0.1e-3, 8e-3)))
PLACE = LeastSure(speed=0.12, low=0.035, high=0.065, surest=0.06, at_surest=(0.060, 0.069))
SHIMS = Unknown(
    owner=Owner.SHIMS_INSIDE, figure="100", words="thickness of the 0.1 mm shims", uncertainty=3e-6
)
SPREAD = Spread(
    built=Built(STAGED, 0),
    chance=0.83,
    draws=2048,
    bands=(
        BandSpread("support", 0.045, 0.068, kept=0.99, missed_by=0.002, least_sure=PLACE),
        BandSpread("high speed", -0.001, 0.031, kept=0.84, missed_by=0.004, least_sure=None),
    ),
    carriers=(Carrier(SHIMS, 0.4), Carrier(None, 0.2)),
    carried="high speed",
)


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (1.0, "over 99 of 100"),
        (0.996, "over 99 of 100"),
        (0.83, "83 of 100"),
        (0.006, "1 of 100"),
        (0.0, "under 1 of 100"),
    ],
)
def test_a_chance_is_counted_in_hundreds_and_neither_all_nor_none_is_ever_said(
    share: float, words: str
) -> None:
    assert chance_text(share) == words


def test_an_interval_has_both_its_signs() -> None:
    assert interval_text(SPREAD.bands[1]) == "−0.1 to +3.1 %"
    assert interval_text(replace(SPREAD.bands[1], low=0.0, high=0.0)) == "0 %"


def test_the_words_name_the_chance_what_fails_most_what_carries_it_and_where_it_is_least_sure() -> None:
    said = list(sure_words(SPREAD, STAGED, units=UnitSystem.METRIC))
    assert said == [
        (
            "Of dampers built like this, all limits hold in 83 of 100. Most often missed, in 16 of 100, is "
            "'high speed', by about 0.4 points."
        ),
        (
            "What makes 'high speed' unsure, most first: the thickness of the 0.1 mm shims (40 %; put a micrometer "
            "on them); the model itself (20 %; only a run on a dyno before and after tells)."
        ),
        (
            "Least sure of 'support' is the change near 0.12 m/s, where a stage of the stack comes in: +3.5 to "
            "+6.5 %, against +6.0 to +6.9 % at 0.06 m/s."
        ),
    ]


def test_a_stage_is_blamed_only_where_there_is_one_and_the_change_is_unsure_by_itself() -> None:
    assert comes_in_stages(STAGED)
    assert not comes_in_stages(PLAIN)
    assert "a stage" not in " ".join(sure_words(SPREAD, PLAIN, units=UnitSystem.METRIC))
    larger = replace(PLACE, low=0.35, high=0.65, at_surest=(0.060, 0.111))
    assert PLACE.by_itself
    assert not larger.by_itself  # five times the change, and five times as unsure


def test_what_hardly_ever_fails_is_not_named() -> None:
    bands = tuple(replace(band, kept=0.998) for band in SPREAD.bands)
    sure = replace(SPREAD, chance=0.997, bands=bands)
    assert "missed" not in " ".join(sure_words(sure, PLAIN, units=UnitSystem.METRIC))
    assert missed_text(sure, {"support": "A", "high speed": "B"}) == "-"
    assert missed_text(SPREAD, {"support": "A", "high speed": "B"}) == "B, 16 of 100, by about 0.4 points"


def test_velocities_are_in_the_units_that_a_person_reads() -> None:
    assert "4.72 in/s" in " ".join(sure_words(SPREAD, STAGED, units=UnitSystem.IMPERIAL))


def test_what_nobody_can_measure_has_no_remedy() -> None:
    steel = replace(SHIMS, owner=Owner.STEEL, figure="youngs_modulus")
    assert remedy_for(steel) == ""
    assert remedy_for(replace(SHIMS, owner="compression stack", figure="seat_height")) == "measure it"
