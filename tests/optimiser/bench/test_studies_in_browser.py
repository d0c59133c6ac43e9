"""Reach, purchases, the day shared out, dyno runs and a fit in a browser: whole, accessible, light and quiet."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from optimiser.bench.search_folder import SearchFolder
from optimiser.bench.work_folder import SearchState
from optimiser.files.fit_file import place_beside
from optimiser.ledger.builds import open_build
from optimiser.ledger.connection import Ledger
from tests.helpers import headless_chromium
from tests.helpers.bench_browser import Served, Watched, come_in
from tests.helpers.counts import thorough_only
from tests.helpers.page_checks import kept_out

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = [
    thorough_only("a browser works through studies of a job and a fit"),
    pytest.mark.browser,
    pytest.mark.skipif(headless_chromium.PATH is None, reason="no Chromium is installed"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning"),
]

JOB, FORK = "g_too_coarse", "i_fork_dives"
SIZES = ((1280, 800), (820, 1180), (320, 640))
PATIENCE = 150_000


@pytest.fixture(scope="module")
def watched(bench: Served, browser: Browser) -> Watched:
    """Somebody who has had a reach, a purchase, an answer and a fit worked out, each by its button."""
    one = come_in(browser.new_context(viewport={"width": 1280, "height": 800}), bench)
    one.go("/stock")
    one.page.get_by_role("button", name="Begin the books").click()
    one.go(f"/jobs/{JOB}/reach")
    one.page.get_by_role("button", name="Find out how far each band goes").click()
    one.page.locator("svg.reach").wait_for(timeout=PATIENCE)
    one.go(f"/jobs/{JOB}/buy")
    one.page.get_by_role("button", name="Find the smallest purchase").click()
    one.page.get_by_text("Buy 1 of 15x0.25").wait_for(timeout=PATIENCE)
    one.search(FORK)
    return one


def test_a_file_is_brought_read_fitted_and_the_fit_kept_and_taken_back(
    bench: Served, watched: Watched
) -> None:
    page, damper = watched.page, bench.shop / "dampers" / "tarn_shock.toml"
    brought = bench.shop.parent / "morning run.csv"
    shutil.copy(bench.shop / "dyno" / "tarn_peaks.csv", brought)
    watched.go("/dampers/tarn_shock/runs")
    page.get_by_label("A file of runs").set_input_files(brought)
    page.get_by_role("button", name="Add it").click()
    page.get_by_role("heading", name="What was measured").wait_for()
    assert (bench.shop / "dyno" / "morning run.csv").read_bytes() == brought.read_bytes()
    page.get_by_role("button", name="Fit the damper to these runs").click()
    page.get_by_text("The fit holds").wait_for(timeout=PATIENCE)
    page.get_by_role("button", name="Let plans use it").click()
    page.get_by_text("Kept: plans use these figures").wait_for()
    assert place_beside(damper).is_file()
    page.get_by_role("button", name="Take it back").click()
    page.get_by_text("Taken back").wait_for()
    assert not place_beside(damper).exists()


def test_a_reach_is_stopped_and_what_stands_is_shown(bench: Served, watched: Watched) -> None:
    page = watched.page
    watched.go("/jobs/h_motocross/reach")
    page.get_by_label("At most so many changes").select_option("4")
    page.get_by_label("End each band").fill("600")
    page.get_by_role("button", name="Find out how far each band goes").click()
    page.get_by_text("% so far").wait_for(timeout=PATIENCE)
    page.get_by_role("button", name="Stop").click()
    page.get_by_text("It was stopped: ends that are not proven may lie further out.").wait_for(
        timeout=PATIENCE
    )
    page.locator("svg.reach").wait_for()


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_every_page_is_accessible_light_and_as_wide_as_the_screen(
    watched: Watched, size: tuple[int, int]
) -> None:
    watched.page.set_viewport_size({"width": size[0], "height": size[1]})
    for path in (
        f"/jobs/{JOB}", f"/jobs/{JOB}/reach", f"/jobs/{JOB}/buy", "/jobs/a_more_support/reach", "/share-out",
        "/share-out?catalogue=catalogue.csv", f"/jobs/{FORK}/answer", "/dampers/tarn_shock", "/dampers/yaffle_fork",
        "/dampers/tarn_shock/runs?file=tarn_peaks.csv&file=tarn_sine.csv", "/dampers/tarn_shock/fit",
        "/dampers/yaffle_fork/fit", "/dampers/yaffle_fork/runs?file=tarn_peaks.csv",
    ):  # fmt: skip
        watched.go(path)
        watched.page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true; })")
        assert kept_out(watched.page) == [], path
        assert len(watched.page.content().encode()) < 500_000, path
        assert watched.page.evaluate("document.documentElement.scrollWidth") <= size[0], path
    assert not watched.complaints
    assert not watched.leaves_the_machine()


def test_the_day_is_shared_out_and_reserved_by_a_button(bench: Served, watched: Watched) -> None:
    assert SearchFolder(bench.shop, FORK).state is SearchState.DONE
    watched.page.set_viewport_size({"width": 820, "height": 1180})
    watched.go("/")
    watched.page.get_by_role("link", name="Share the shelf out").click()
    watched.page.get_by_role("button", name="Reserve for 1 job").click()
    watched.page.get_by_text("Reserved for 1 job, all of it.").wait_for()
    with Ledger.look(bench.shop) as ledger:
        assert open_build(ledger, FORK) is not None
