"""The page needs nothing from outside, keeps strangers' text as text, and says what its kind requires."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from optimiser.report.page import sheet_html
from optimiser.report.unit_system import UnitSystem
from tests.helpers.sheet_samples import (
    HOSTILE,
    SAMPLES,
    clicks_only,
    few_shims,
    long_names,
    many_shims,
    out_of_reach,
    with_ring,
)

METRIC = UnitSystem.METRIC


class Reader(HTMLParser):
    """Tags, references and visible text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.references: list[str] = []
        self.words: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.references += [v or "" for k, v in attrs if k in {"src", "href", "xlink:href", "action", "data"}]
        assert not [k for k, _ in attrs if k.startswith("on")]

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.mark.parametrize("name", SAMPLES)
def test_a_page_stands_alone(name: str) -> None:
    """No script, no link, no picture from elsewhere: it works from a memory stick in a shed."""
    page = sheet_html(SAMPLES[name](), units=METRIC)
    read = Reader(page)
    assert not {"script", "link", "img", "iframe", "object", "form"} & set(read.tags)
    assert all(reference.startswith("#") for reference in read.references)
    assert "@import" not in page
    assert not re.findall(r"url\((?!#)", page)


def test_the_same_sheet_gives_the_same_page() -> None:
    """Byte for byte."""
    assert sheet_html(many_shims(), units=METRIC) == sheet_html(many_shims(), units=METRIC)


def test_a_strangers_text_stays_text() -> None:
    """Markup, template signs and quotes in names come out as they went in."""
    read = Reader(sheet_html(long_names(), units=METRIC))
    assert "b" in read.tags
    assert read.text.count(" ".join(HOSTILE.split())) >= 5
    assert "49" not in read.text.split("{{")[0]


def test_a_shims_sheet_tells_what_comes_out_what_goes_in_and_where() -> None:
    """With the height and what to do about it, the rider's words and the proof."""
    text = Reader(sheet_html(few_shims(), units=METRIC)).text
    assert "OUT 17x0.20" in text
    assert "IN 17x0.25" in text
    assert "4th from the piston" in text
    assert "1.55 mm before, 1.60 mm after" in text
    assert "Drops into the corner on the brakes" in text
    assert "Proven: " in text
    assert "What it did" in text


def test_a_clicks_sheet_asks_for_no_spanner() -> None:
    """The damper stays shut, so nothing is said of opening it."""
    text = Reader(sheet_html(clicks_only(), units=METRIC)).text
    assert "No spanner" in text
    assert "2 clicks in (close)" in text
    assert "OUT" not in text
    assert "micrometer" not in text
    assert "Measure before the ride" in text
    assert "closed" not in text.partition("Measure before the ride")[0].rpartition("At the bench")[2]


def test_a_nearest_sheet_is_plainly_not_for_building() -> None:
    """It says so in its heading and first among the cautions, and shows the band that is missed."""
    text = Reader(sheet_html(out_of_reach(), units=METRIC)).text
    assert "Cannot be reached. The nearest is shown: do not build it without the rider's word" in text
    assert "out of range" in text
    assert "Not to be built without the rider's word" in text


def test_an_unproven_sheet_does_not_say_proven() -> None:
    """Time ran out: the word stands nowhere but in its denial."""
    text = Reader(sheet_html(with_ring(), units=METRIC)).text
    assert "Not proven: time ran out" in text
    assert "Proven" not in text


def test_a_reason_for_passing_the_gate_is_printed() -> None:
    """Whoever builds it sees what was passed over."""
    assert "Race on Sunday, springs ordered." in Reader(sheet_html(many_shims(), units=METRIC)).text
    assert "Basics passed over" not in Reader(sheet_html(few_shims(), units=METRIC)).text


def test_imperial_pages_keep_shims_in_millimetres() -> None:
    """Forces, velocities and heights change; the drawer's names do not."""
    text = Reader(sheet_html(few_shims(), units=UnitSystem.IMPERIAL)).text
    assert "IN 17x0.25" in text
    assert "0.0610 in before" in text
    assert "lbf" in text
    assert not re.search(r"\d (N|m/s|mm)\b", text)
