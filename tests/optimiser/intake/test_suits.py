"""A delivered damper gets the least that it needs, and nothing more is asked for."""

from collections.abc import Callable
from typing import Any, NoReturn

import pytest

from optimiser.errors import InputError
from optimiser.intake.suits import ShimsNeeded, Suits, Verdict, WantedBand, does_it_suit

IN, SOFT, FIRM = (
    WantedBand("low", 90, 110, 100, 0.1),
    WantedBand("low", 90, 110, 60, 0.1),
    WantedBand("low", 90, 110, 150, 0.1),
)


def unasked() -> NoReturn:
    raise AssertionError("asked for more than was needed")


def suit(
    bands: list[WantedBand], clicks: Callable[..., Any] = unasked, shims: Callable[..., Any] = unasked
) -> Suits:
    return does_it_suit(bands=bands, by_clicks=clicks, by_shims=shims)


def test_a_damper_inside_every_band_is_left_alone_and_nothing_is_searched() -> None:
    assert suit([IN, IN]).verdict is Verdict.FITS


def test_clicks_are_tried_before_any_search_for_shims() -> None:
    found = suit([IN, SOFT], clicks=lambda: {"compression": 2})
    assert found.verdict is Verdict.CLICKS
    assert found.said == "As delivered 'low' is 33 % too soft; compression 2 clicks out brings it in."


@pytest.mark.parametrize(
    ("proven", "words"), [(True, "the least, proven"), (False, "the least found so far")]
)
def test_shims_come_with_how_few_and_whether_that_is_proven(proven: bool, words: str) -> None:
    found = suit([FIRM], clicks=lambda: None, shims=lambda: ShimsNeeded(2, proven))
    assert found.verdict is Verdict.SHIMS
    assert found.changes == 2
    assert found.said.startswith("'low' is 36 % too firm and clicks do not reach it; 2 shims changed do")
    assert words in found.said


def test_wrong_is_said_only_when_it_is_proven() -> None:
    assert suit([FIRM], clicks=lambda: None, shims=lambda: ShimsNeeded(None, True)).verdict is Verdict.WRONG
    late = suit([FIRM], clicks=lambda: None, shims=lambda: ShimsNeeded(None, False))
    assert late.verdict is not Verdict.WRONG
    assert "does not prove that there is none" in late.said


def test_nothing_to_judge_by_and_backward_ranges_are_refused() -> None:
    with pytest.raises(InputError, match="got no band to judge"):
        suit([])
    with pytest.raises(InputError, match="band 'low': got 110 to 90"):
        suit([WantedBand("low", 110, 90, 100, 0.1)])
