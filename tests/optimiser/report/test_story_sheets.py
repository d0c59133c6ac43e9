"""Every story of the demo as it leaves the printer and as it lies on a bench: one leaf, nothing cut."""

from __future__ import annotations

import contextlib
import re
from pathlib import Path

import pytest

from optimiser.batch import job_to_sheet
from optimiser.files.demo_shop import lay_out
from optimiser.report.unit_system import UnitSystem
from tests.helpers import headless_chromium
from tests.helpers.counts import thorough_only
from tests.helpers.known_plans import KnownPlans
from tests.helpers.page_layout import PageLayout
from tests.helpers.paths import ROOT

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(headless_chromium.PATH is None, reason="no Chromium on this machine to lay pages out"),
    thorough_only("plans every story of the demo"),
]

STORIES = sorted(path.stem for path in (ROOT / "inventory_demo" / "jobs").glob("*.toml"))


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory, known_plans: KnownPlans) -> dict[str, str]:
    """The sheet of every story that has one, as typed ``plan`` writes it; one that stops at the basics has none."""
    shop = tmp_path_factory.mktemp("stories") / "shop"
    lay_out(shop)
    with contextlib.chdir(shop), pytest.MonkeyPatch.context() as patch:
        patch.setattr(job_to_sheet, "plan_job", known_plans)
        for story in STORIES:
            job_to_sheet.plan_to_sheet(Path("jobs") / f"{story}.toml", units=UnitSystem.METRIC)
    return {path.stem: path.read_text(encoding="utf-8") for path in (shop / "jobs").glob("*.html")}


def test_every_story_but_that_of_the_sag_has_a_sheet(sheets: dict[str, str]) -> None:
    assert set(STORIES) - set(sheets) == {"c_sag_first"}


@pytest.mark.parametrize("story", [story for story in STORIES if story != "c_sag_first"])
def test_a_story_prints_on_one_leaf_and_is_whole_at_every_width(
    story: str, sheets: dict[str, str], layout: PageLayout
) -> None:
    """Both sides of one A4; a screen, a tablet, a phone, paper."""
    assert layout.sides(sheets[story]) <= 2
    for width, as_print in ((1280, False), (820, False), (390, False), (703, True)):
        assert layout.faults(sheets[story], width=width, as_print=as_print) == []


@pytest.mark.parametrize("story", [story for story in STORIES if story != "c_sag_first"])
def test_what_comes_and_what_leaves_is_told_without_colour(story: str, sheets: dict[str, str]) -> None:
    """A grey printer: each new shim of the drawing bears the word, each leaving one too."""
    page = sheets[story]
    for css, word in (("new", "NEW"), ("leaving", "OUT")):
        labels = re.findall(rf'<text class="{css}"[^>]*>([^<]*)<', page)
        assert all(word in label for label in labels), labels
