"""Marks of the drawings in grey and for those who lack one kind of cone: measured, and seen in a browser."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import pytest

from tests.helpers import headless_chromium
from tests.helpers.bench_browser import Served, Watched, come_in
from tests.helpers.counts import thorough_only
from tests.helpers.seen_colours import KINDS, apart, drawn_in, seen_at, simulated

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = [
    thorough_only("a browser draws the marks"),
    pytest.mark.browser,
    pytest.mark.skipif(headless_chromium.PATH is None, reason="no Chromium is installed"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]

TRIED = "/jobs/a_more_support/what-if?try=out+20x0.10,+in+16x0.15"

BESIDE = (
    (("shim", "fill"), ("shim new", "fill")),
    (("shim", "fill"), ("piston", "fill")),
    (("shim new", "fill"), ("piston", "fill")),
    (("ground-target", "fill"), ("hatch", "stroke")),
    (("ground-hold", "fill"), ("dot", "fill")),
    (("hatch", "stroke"), ("dot", "fill")),
)
"""Grounds and strokes that lie beside one another in one drawing, by class and what of it is coloured."""

CLEAR = 12.0
"""Five times the difference that is just noticed, 2.3 (Mahy, Van Eycken, Oosterlinck 1994)."""

SAME = 6.0
"""Within which the browser's own simulation and the published matrices show one colour."""


@pytest.fixture(scope="module")
def page(bench: Served, browser: Browser) -> Page:
    watched: Watched = come_in(browser.new_context(viewport={"width": 1280, "height": 900}), bench)
    watched.go(TRIED)
    return watched.page


@pytest.mark.parametrize("kind", KINDS)
def test_what_lies_beside_one_another_is_apart_for_everybody(page: Page, kind: str) -> None:
    for one, other in BESIDE:
        colours = [simulated(drawn_in(page, css, what), kind) for css, what in (one, other)]
        assert apart(*colours) > CLEAR, (kind, one, other, colours)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "none"])
def test_the_browser_shows_what_the_published_matrices_say(page: Page, kind: str) -> None:
    """The same colours simulated by two programs: whichever is wrong, they would not agree."""
    page.screenshot()
    plain = {selector: seen_at(page, selector) for selector in ("rect.shim.new", "rect.shim:not(.new)")}
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setEmulatedVisionDeficiency", {"type": kind})
    try:
        for selector, colour in plain.items():
            assert apart(seen_at(page, selector), simulated(colour, kind)) < SAME, (kind, selector, colour)
    finally:
        session.send("Emulation.setEmulatedVisionDeficiency", {"type": "none"})
        session.detach()


def test_marks_differ_by_shape_as_well(page: Page) -> None:
    """Who sees no colour at all reads dashes, hatching, dots, letters and words."""
    pens = page.evaluate(
        """() => [1, 2, 3, 4, 5, 6].map(pen => {
          const one = document.createElementNS('http://www.w3.org/2000/svg', 'path');
          one.setAttribute('class', 'line pen' + pen); document.querySelector('svg.force').append(one);
          const look = getComputedStyle(one); const found = [look.strokeDasharray, look.strokeWidth].join();
          one.remove(); return found; })"""
    )
    assert all(one != other for one, other in combinations(pens, 2)), pens
    dash = "getComputedStyle(document.querySelector('rect.shim.leaving')).strokeDasharray"
    assert page.evaluate(dash) != "none"
    said = page.evaluate(
        "[...document.querySelectorAll('.section text')].map(one => one.textContent).join(' ')"
    )
    assert "NEW" in said
    assert "OUT" in said
    grounds = page.evaluate("[...document.querySelectorAll('svg.force pattern')].map(one => one.innerHTML)")
    assert len({one for one in grounds if "hatch" in one}) >= 1
    assert len({one for one in grounds if "dot" in one}) >= 1
    letters = page.evaluate("[...document.querySelectorAll('svg.force .letter')].map(one => one.textContent)")
    assert {"A", "B"} <= set(letters)
    verdicts = page.locator(".bands td[data-label=verdict]").all_inner_texts()
    assert all("range" in one for one in verdicts), "a verdict is words"
