"""The build sheet as a browser lays it out: on a screen, on a phone, on paper."""

from __future__ import annotations

from functools import cache

import pytest

from optimiser.report.page import sheet_html
from optimiser.report.unit_system import UnitSystem
from tests.helpers import headless_chromium
from tests.helpers.counts import some_of
from tests.helpers.page_layout import PageLayout
from tests.helpers.sheet_samples import SAMPLES

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(
        headless_chromium.PATH is None, reason="no Chromium on this machine to lay the page out"
    ),
]

PAPER = 703
"""Width that A4 leaves between margins of 12 mm. [px]"""


@cache
def page_of(name: str, units: UnitSystem = UnitSystem.METRIC) -> str:
    return sheet_html(SAMPLES[name](), units=units)


@pytest.mark.parametrize("width", [1280, 820, 390])
@pytest.mark.parametrize("name", some_of(list(SAMPLES), every=3))
def test_nothing_is_cut_and_no_text_lies_on_another_on_screen_and_phone(
    name: str, width: int, layout: PageLayout
) -> None:
    """Nothing is cut and no text lies on another, on a wide screen and on a phone."""
    assert layout.faults(page_of(name), width=width) == []


@pytest.mark.parametrize("units", UnitSystem)
@pytest.mark.parametrize("name", some_of(["many_shims", "every_shim_different", "long_names"], every=2))
def test_nothing_is_cut_and_no_text_lies_on_another_on_paper(
    name: str, units: UnitSystem, layout: PageLayout
) -> None:
    """Nothing is cut and no text lies on another in the layout for paper."""
    page = page_of(name, units)
    assert layout.faults(page, width=PAPER, as_print=True) == []


@pytest.mark.parametrize("name", some_of([name for name in SAMPLES if name != "long_names"], every=3))
def test_a_sheet_prints_on_two_sides_at_most(name: str, layout: PageLayout) -> None:
    """A sheet fits on both sides of one piece of paper."""
    assert layout.sides(page_of(name)) in {1, 2}


def test_the_check_sees_text_that_lies_on_other_text(layout: PageLayout) -> None:
    """A page with two lines on one another is reported, so that silence means something."""
    page = page_of("few_shims").replace("</style>", "h2 { margin-top: -2.2em !important; }</style>")
    assert any(f.startswith("overlap") for f in layout.faults(page, width=390))


def test_the_check_sees_what_the_page_cuts(layout: PageLayout) -> None:
    """A page wider than its screen is reported."""
    page = page_of("few_shims").replace("</style>", "main { width: 600px; }</style>")
    assert any("wide" in fault for fault in layout.faults(page, width=390))


def test_the_check_sees_labels_that_leave_their_drawing(layout: PageLayout) -> None:
    """A label that runs out of its drawing is reported."""
    page = page_of("few_shims").replace("3 of 20x0.20", "3 of 20x0.20 and much more than there is room for")
    assert any("its drawing" in fault for fault in layout.faults(page, width=1280))
