"""The model's word on a clicker: how far each band moves from where it stands."""

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from optimiser.errors import InputError
from optimiser.intake.bands import Band
from optimiser.intake.brackets import Adjuster
from optimiser.intake.complaint import NamedBand
from optimiser.intake.prediction import bands_of_both_strokes, predictor, reaches_across

SLOW, FAST = Band("slow", "compression", 0.05, 0.15, 1.0), Band("fast", "rebound", 0.6, 1.5, 1.0)


def forces_at(clicks: Mapping[str, int]) -> Callable[..., Any]:
    """A toy: each click out takes a tenth off compression and nothing off rebound."""
    return lambda v: np.where(v > 0, 1 - 0.1 * clicks.get("compression", 0), 1.0) * 1000 * np.abs(v)


def test_a_click_that_takes_a_tenth_off_one_stroke_is_told_for_that_stroke_alone() -> None:
    told = predictor(forces_at=forces_at, bands=[SLOW, FAST])("compression", 1)
    assert told == {"slow": pytest.approx(-0.1), "fast": pytest.approx(0.0)}


def test_where_it_stands_nothing_moves() -> None:
    assert predictor(forces_at=forces_at, bands=[SLOW])("compression", 0) == {"slow": 0.0}


def test_a_band_without_force_is_refused() -> None:
    with pytest.raises(InputError, match="no force at some velocity"):
        predictor(forces_at=lambda _: np.zeros_like, bands=[SLOW])


def test_the_named_bands_are_told_in_both_strokes() -> None:
    bands = bands_of_both_strokes([NamedBand("low", 0.04, 0.15), NamedBand("mid", 0.15, 0.6)])
    assert [band.name for band in bands] == [
        "compression low",
        "compression mid",
        "rebound low",
        "rebound mid",
    ]


@pytest.mark.parametrize(("leak", "across"), [(0.0, False), (0.01, True)])
def test_an_adjuster_that_moves_both_strokes_reaches_across(leak: float, across: bool) -> None:
    def forces(clicks: Mapping[str, int]) -> Callable[..., Any]:
        turned = clicks.get("compression", 0)
        return lambda v: np.where(v > 0, 1 - 0.1 * turned, 1 - leak * turned) * 1000 * np.abs(v)

    assert reaches_across(forces_at=forces, adjusters=[Adjuster("compression", 5, 2)]) is across
