"""Every story of the demo searched on its page to its verdict, and then every page of that shop looked at."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.helpers import headless_chromium
from tests.helpers.bench_browser import Served, come_in
from tests.helpers.counts import thorough_only
from tests.helpers.every_page import GUEST, STRANGER, WORKS, Visit, cookie_of, visitors, visits
from tests.helpers.page_checks import kept_out, lost, too_small, with_text_at

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = [
    thorough_only("plans every story of the demo"),
    pytest.mark.browser,
    pytest.mark.skipif(headless_chromium.PATH is None, reason="no Chromium is installed"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]

FOUND = "The least effort in range"
VERDICTS = {
    "b_clicks_do": ("The damper stays closed", "clickers only", "The adjusters alone reach the goal"),
    "c_sag_first": ("Basics first: Set the spring", None, "sag, rear: 57 mm, 41 % of travel"),
    "a_more_support": (FOUND, "1 change", "no setting with the stack as it is meets the goal"),
    "d_out_of_reach": ("no buildable stack from this shelf meets the goal", None, "instead of −65 %"),
    "e_one_instant": (FOUND, "1 change", "This one takes 1 change: the fewest"),
    "f_another_frame": (FOUND, "1 change", "This one takes 1 change: the fewest"),
    "g_too_coarse": ("no buildable stack from this shelf meets the goal", None, "Two changes meet it."),
    "h_motocross": (FOUND, "1 change", "a broad change, not an aimed one"),
    "i_fork_dives": (FOUND, "1 change", "This one takes 1 change: the fewest"),
    "j_buggy_whoops": (FOUND, "1 change", "This one takes 1 change: the fewest"),
}
"""Of each story: what the answer begins with, the least effort in range, what else is said."""

LONG = 900
"""No search of a story is to end by the clock, on whatever machine. [s]"""

SIZES = ((1280, 800), (820, 1180), (320, 640))
AT_TWICE = (640, 400)
"""A window of 1280 x 800 at a zoom of 200 %, in pixels as the page counts them."""

PAPER = (703, 1000)
"""A4 less its margins."""

MOST_BYTES = 500_000
"""Of a page."""


@pytest.fixture(scope="module")
def served_shop(served_shop: Path) -> Path:
    """The same shop with an intake that was begun."""
    (served_shop / "jobs" / ".begun.toml.answers").write_text(
        'title = "Begun"\nrider = "../riders/ines.toml"\nbike = "../bikes/oxlip_trail.toml"\n'
        'damper = "../dampers/tarn_shock.toml"\nshelf = "../shelf.csv"\n"sag front" = "45 %"\n',
        encoding="utf-8",
    )
    return served_shop


@pytest.fixture(scope="module")
def state(bench: Served, browser: Browser) -> Any:
    """Somebody who works there and has begun the books and a search for every story, one after another."""
    context = browser.new_context()
    watched = come_in(context, bench)
    page = watched.page
    watched.go("/stock")
    page.get_by_role("button", name="Begin the books").click()
    for story in VERDICTS:
        watched.go(f"/jobs/{story}")
        page.get_by_text("How long, how sure").click()
        page.get_by_label("End after, s").fill(str(LONG))
        page.get_by_role("button", name="Search for the fewest changes").click()
        page.locator("#search").get_by_text(re.compile("You may close this page|The answer")).wait_for()
    assert watched.complaints == []
    kept = context.storage_state()
    context.close()
    return kept


@pytest.mark.parametrize("story", VERDICTS)
def test_a_story_comes_to_its_verdict_on_its_page(
    story: str, bench: Served, browser: Browser, state: Any
) -> None:
    lead, least, more = VERDICTS[story]
    with visitors(browser, bench, state, viewport={"width": 1280, "height": 800}) as visited:
        watched = visited(Visit(story, lambda one: one.go(f"/jobs/{story}")))
        page = watched.page
        page.get_by_role("link", name="The answer").wait_for(timeout=1000 * LONG)
        page.get_by_role("link", name="The answer").click()
        page.get_by_role("heading", level=1).wait_for()
        assert lead in page.locator(".lead").inner_text()
        assert more in page.inner_text("main")
        in_range = page.locator(".ladder tr.good th")
        assert in_range.count() == 0 if least is None else in_range.first.inner_text().startswith(least)
        chosen = page.get_by_role("button", name=re.compile("^Reserve candidate"))
        assert (chosen.count() > 0) == (least is not None), (
            "what meets the goal can be reserved, and only that"
        )
        assert watched.complaints == []
        assert watched.leaves_the_machine() == []


@pytest.fixture(scope="module")
def worked(bench: Served, browser: Browser, state: Any) -> list[Visit]:
    """Every page of the shop when all stories are answered, one is reserved, one built, one ridden."""
    context = browser.new_context(storage_state=state)
    cookie = cookie_of(state)
    page = context.new_page()
    page.goto(f"{bench.address}/jobs/{list(VERDICTS)[-1]}")
    page.get_by_role("link", name="The answer").wait_for(timeout=1000 * LONG)
    context.close()
    for story in ("a_more_support", "i_fork_dives", "j_buggy_whoops"):
        bench.send(f"/jobs/{story}/build", cookie, pick="1")
    nothing_bent = {f"bent{place}": "0" for place in range(6)}
    for story in ("i_fork_dives", "j_buggy_whoops"):
        bench.send(f"/jobs/{story}/done", cookie, **nothing_bent)
    bench.send("/jobs/i_fork_dives/ride", cookie, verdict="better", words="Stands up under the brakes.")
    bench.send("/stock/move", cookie, do="receive", kind="20x0.10", number="3", reason="invoice 12")
    return list(visits(bench, cookie))


def test_pages_are_light_quiet_open_to_all_and_whole_at_any_width_zoom_and_on_paper(
    bench: Served, browser: Browser, state: Any, worked: list[Visit]
) -> None:
    """Each page is opened once, since that takes longest."""
    assert len(worked) > 25
    refused = re.compile(r"Failed to load resource: the server responded with a status of 4\d\d")
    faults: list[tuple[str, object, str]] = []
    with visitors(browser, bench, state) as visited:
        for visit in worked:
            watched = visited(visit)
            page = watched.page
            assert len(page.content().encode()) < MOST_BYTES, visit.called
            assert [one for one in watched.complaints if not refused.search(one)] == [], visit.called
            assert watched.leaves_the_machine() == [], visit.called
            for size in (*SIZES, AT_TWICE):
                page.set_viewport_size({"width": size[0], "height": size[1]})
                faults += [(visit.called, size, one) for one in lost(page)]
                if size != AT_TWICE:
                    faults += [(visit.called, size, one) for one in kept_out(page)]
            page.set_viewport_size({"width": PAPER[0], "height": PAPER[1]})
            page.emulate_media(media="print")
            faults += [(visit.called, "in print", one) for one in lost(page)]
            page.emulate_media(media="screen")
    assert faults == []


def test_text_of_twice_the_size_loses_nothing(
    bench: Served, browser: Browser, state: Any, worked: list[Visit]
) -> None:
    faults = []
    with visitors(browser, bench, state) as visited:
        for who in (WORKS, GUEST, STRANGER):
            with_text_at(visited(Visit("first", lambda one: one.go("/"), who)).page, 2)
        for visit in worked:
            page = visited(visit).page
            for width, height in SIZES[:2]:  # twice the text on 320 pixels is a line of ten letters
                page.set_viewport_size({"width": width, "height": height})
                faults += [(visit.called, width, one) for one in lost(page)]
    assert faults == []


def test_a_finger_hits_everything(bench: Served, browser: Browser, state: Any, worked: list[Visit]) -> None:
    faults = []
    how = {"viewport": {"width": 820, "height": 1180}, "has_touch": True, "is_mobile": True}
    with visitors(browser, bench, state, **how) as visited:
        for visit in worked:
            faults += [(visit.called, one) for one in too_small(visited(visit).page)]
    assert faults == []
