"""The pages by keyboard alone: a rider's words become a printed sheet, a stack is tried, and focus is always seen."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from tests.helpers import headless_chromium
from tests.helpers.bench_browser import Served, Watched
from tests.helpers.by_keyboard import Keyboard
from tests.helpers.counts import thorough_only

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = [
    thorough_only("a browser works through a whole job"),
    pytest.mark.browser,
    pytest.mark.skipif(headless_chromium.PATH is None, reason="no Chromium is installed"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]

CHOSEN = {
    "rider": "ines",
    "bike": "oxlip trail",
    "damper": "tarn shock",
    "shelf": "shelf",
    "stack": "compression stack",
}
SAID = {
    "title": "Sinks when she leans on the pedals",
    "sag rear": "15 mm shaft",
    "symptom": "wallows in long turns",
    "shift": "30",
    "changes": "1",
}


@pytest.fixture(scope="module")
def watched(bench: Served, browser: Browser) -> Watched:
    return Watched.of(browser.new_context(viewport={"width": 1280, "height": 800}), bench.address)


def _answer_all(watched: Watched, keys: Keyboard) -> None:
    """Answer what is asked until nothing is open."""
    for _ in range(40):
        if watched.page.get_by_role("button", name="Write the job").count():
            return
        asked = watched.page.locator("input[name=key]").first.input_value()
        if asked in CHOSEN:
            keys.press(CHOSEN[asked])
        elif asked in SAID:
            if watched.page.evaluate("document.activeElement.id") != "answer":
                keys.tab_to(watched.page.locator("label[for=answer]").inner_text())
            keys.write(SAID[asked])
            keys.enter()
        else:
            keys.press("Skip")
    raise AssertionError("the questions do not end")


def test_the_keyboard_alone_goes_from_the_key_to_the_printed_sheet(watched: Watched, bench: Served) -> None:
    page, keys = watched.page, Keyboard(watched.page)
    page.goto(bench.way_in)
    keys.press("Open the bench")
    keys.press("Begin them from the shelf's file")
    keys.press("Begin the books with shelf.csv")
    page.get_by_text("The books begin with shelf.csv").wait_for()
    keys.press("Day")
    keys.press("A new job")
    keys.write("by_keyboard", into="A short name for its file")
    keys.enter()
    _answer_all(watched, keys)
    keys.press("Write the job")
    page.get_by_role("heading", name="The goal on the curve").wait_for()
    keys.tab_to("At most so many changes of shims")
    keys.key("Home")
    keys.key("ArrowDown")
    keys.press("Keep this goal", key="Space")
    assert page.get_by_label("At most so many changes of shims").input_value() == "1"
    keys.tab_to("How long, how sure")
    keys.key("Space")
    keys.write("900", into="End after, s")
    keys.press("Search for the fewest changes")
    page.get_by_role("link", name="The answer").wait_for(timeout=400_000)
    keys.press("The answer")
    page.get_by_role("heading", name="What each step of effort buys").wait_for()
    keys.press("Reserve candidate 1")
    page.get_by_role("heading", name="Candidate 1 is reserved").wait_for()
    keys.press("The build sheet, to print")
    assert SAID["title"] in page.inner_text("body")
    assert page.pdf()[:4] == b"%PDF"
    assert watched.complaints == []
    assert watched.leaves_the_machine() == []


def test_the_keyboard_alone_builds_writes_down_the_ride_and_takes_a_step_back(watched: Watched) -> None:
    page, keys = watched.page, Keyboard(watched.page)
    watched.go("/jobs/by_keyboard")
    keys.press("It is built")
    page.get_by_role("heading", name="Built. What did the ride show?").wait_for()
    keys.tab_to("better")
    keys.key("Space")
    keys.key("ArrowDown")
    assert page.get_by_label("same").is_checked(), "arrows choose among what belongs together"
    keys.write("Holds its line, a touch harsh.", into="In the rider's words")
    keys.press("Write it down")
    page.get_by_text("The ride is written down.").wait_for()
    keys.press("Record")
    assert "same: Holds its line, a touch harsh." in page.inner_text("main")
    keys.press("Take back step")
    page.get_by_text(re.compile("is taken back")).wait_for()


def test_the_first_key_skips_to_the_content_and_shims_are_tried_without_a_mouse(watched: Watched) -> None:
    page, keys = watched.page, Keyboard(watched.page)
    watched.go("/jobs/a_more_support/what-if")
    keys.tab_to("To the content")
    assert keys.reached == ["To the content"]
    box = page.locator(".skip").bounding_box()
    assert box is not None
    assert box["x"] >= 0, "it is seen when it has the focus"
    keys.key("Enter")
    assert page.evaluate("document.activeElement.id") == "content"
    keys.tab_to("20x0.10, place 1, take it out")
    keys.key("Enter")
    page.locator("#answer h2", has_text="20x0.10 out").wait_for()
    keys.tab_to("low-speed compression, clicks out of 12")
    keys.write("0")
    page.locator("#answer h2", has_text="low-speed compression 0 out").wait_for()


def test_after_a_shim_is_taken_out_the_focus_stays_in_the_stack(watched: Watched) -> None:
    """Who takes out three by keyboard does not begin at the top of the page for each."""
    page, keys = watched.page, Keyboard(watched.page)
    watched.go("/jobs/a_more_support/what-if")
    keys.tab_to("20x0.10, place 2, take it out")
    keys.key("Enter")
    page.locator("#answer h2", has_text="20x0.10 out").wait_for()
    assert (
        page.evaluate("document.activeElement.getAttribute('aria-label')") == "20x0.10, place 2, take it out"
    )
    keys.key("Enter")
    page.locator(".chips").get_by_role("button", name="12x0.05, place 3, take it out").wait_for()
    assert page.locator(".chips .shim").count() == 27, "two of 29 are out"
