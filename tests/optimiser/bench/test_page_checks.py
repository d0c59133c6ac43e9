"""What the browser tests look for is found where it is: each check fails on a page that is made to fail it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.helpers import headless_chromium
from tests.helpers.by_keyboard import Keyboard
from tests.helpers.counts import thorough_only
from tests.helpers.page_checks import kept_out, lost, one_of_each, too_small, with_text_at
from tests.helpers.seen_colours import apart, simulated

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

in_browser = [
    thorough_only("a browser is begun"),
    pytest.mark.browser,
    pytest.mark.skipif(headless_chromium.PATH is None, reason="no Chromium is installed"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]

SOUND = (
    '<!doctype html><html lang="en"><head><title>Sound</title></head><body><main><h1>Sound</h1>'
    "<p>Words that fit.</p><button style='min-width: 60px; min-height: 50px'>Press</button></main></body></html>"
)


@pytest.fixture(scope="module")
def page(browser: Browser) -> Page:
    return browser.new_context(viewport={"width": 320, "height": 640}).new_page()


class TestInBrowser:
    """Pages written for the purpose."""

    pytestmark = in_browser

    def test_a_sound_page_passes(self, page: Page) -> None:
        page.set_content(SOUND)
        assert lost(page) == []
        assert kept_out(page) == []
        assert too_small(page) == []

    @pytest.mark.parametrize(
        ("spoiled", "found"),
        [
            (
                "<p style='white-space: nowrap'>Words that do not fit since nothing breaks their line</p>",
                "wide",
            ),
            ("<p style='margin: 0'>Under</p><p style='margin: -1.2em 0 0'>Over</p>", "overlap: Under / Over"),
            (
                "<svg width='40' height='20'><text x='0' y='15'>longer than it</text></svg>",
                "cut by its drawing",
            ),
            (
                (
                    "<details><summary style='display: block; min-height: 50px'>Fold</summary>"
                    "<p style='white-space: nowrap'>Words that do not fit since nothing breaks their line</p></details>"
                ),
                "wide",
            ),
        ],
    )
    def test_what_is_lost_is_seen_also_in_what_is_folded(self, page: Page, spoiled: str, found: str) -> None:
        page.set_content(SOUND.replace("<p>Words that fit.</p>", spoiled))
        assert any(found in one for one in lost(page))

    def test_what_is_too_small_and_who_is_kept_out_is_seen(self, page: Page) -> None:
        page.set_content(SOUND.replace("min-height: 50px", "height: 30px").replace("Press", "<img src=''>"))
        assert too_small(page)
        assert any(one.startswith("image-alt") for one in kept_out(page))

    def test_a_focus_that_does_not_show_is_seen(self, page: Page) -> None:
        page.set_content(SOUND.replace("min-height", "outline: none; min-height"))
        with pytest.raises(AssertionError, match="has the focus and no ring"):
            Keyboard(page).tab_to("Press")

    def test_text_is_made_larger_and_nothing_else(self, page: Page) -> None:
        page.goto("about:blank")
        with_text_at(page, 2)
        page.set_content(SOUND)
        assert page.evaluate("getComputedStyle(document.querySelector('p')).fontSize") == "32px"
        assert page.evaluate("document.querySelector('button').getBoundingClientRect().height") == 50


def test_addresses_that_differ_in_a_name_are_one_kind() -> None:
    assert one_of_each(
        ["/jobs/a", "/jobs/b", "/jobs/a/sheet/1", "/jobs/b/sheet/2", "/stock", "/stock?low=yes"]
    ) == [
        "/jobs/a",
        "/jobs/a/sheet/1",
        "/stock",
        "/stock?low=yes",
    ]


def test_distances_and_simulations_of_colours_are_those_of_their_definitions() -> None:
    """White and black are 100 apart by definition of L*; a grey stays what it is for everybody."""
    assert apart((255, 255, 255), (0, 0, 0)) == pytest.approx(100, abs=0.01)
    for kind in ("none", "protanopia", "deuteranopia", "tritanopia", "achromatopsia"):
        assert simulated((120, 120, 120), kind) == (120, 120, 120)
    red, green = (200, 60, 40), (110, 120, 40)
    assert apart(simulated(red, "deuteranopia"), simulated(green, "deuteranopia")) < apart(red, green) / 2
    grey = simulated((0, 128, 0), "achromatopsia")
    assert grey[0] == grey[1] == grey[2]
