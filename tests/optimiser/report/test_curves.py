"""Curves in SVG and in the terminal: the same figures, drawn the same way every time."""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest

from optimiser.model.goal import Goal, Role, Window
from optimiser.report.curves import change_svg, force_svg, share_svg
from optimiser.report.sheet import CurveLine
from optimiser.report.terminal import force_text
from optimiser.report.unit_system import UnitSystem
from tests.helpers.sheet_samples import HOSTILE, goal, law, lines

METRIC, IMPERIAL = UnitSystem.METRIC, UnitSystem.IMPERIAL


def drawings() -> dict[str, str]:
    before, after = lines()
    return {
        "force": force_svg(lines(), units=METRIC, goal=goal()),
        "alone": force_svg(lines(), units=IMPERIAL, goal=goal(), standalone=True),
        "change": change_svg(before, after, goal(), units=METRIC),
        "share": share_svg([before, after], units=METRIC),
    }


def test_the_same_curves_give_the_same_bytes() -> None:
    """No date, no random name: a sheet made twice can be compared."""
    assert drawings() == drawings()


@pytest.mark.parametrize("name", ["force", "alone", "change", "share"])
def test_a_drawing_is_well_formed_and_refers_only_to_itself(name: str) -> None:
    """It parses, every reference is to a name inside it, and nothing is fetched."""
    svg = drawings()[name]
    root = ET.fromstring(svg)  # noqa: S314  our own text
    names = {element.get("id") for element in root.iter()}
    used = re.findall(r"url\(#([^)]*)\)", svg) + re.findall(r'href="([^"]*)"', svg)
    assert used
    assert {reference.removeprefix("#") for reference in used} <= names
    assert not re.findall(r'(?:src|href)="http', svg)


def test_two_drawings_on_one_page_share_no_name() -> None:
    """Otherwise one would be clipped by the other's frame."""
    drawn = drawings()
    force, change = (set(re.findall(r'\bid="([^"]*)"', drawn[name])) for name in ("force", "change"))
    assert force
    assert not force & change


def test_every_band_of_a_stroke_is_lettered_in_its_panel() -> None:
    """A, B, C in compression and D in rebound, as in the table."""
    svg = drawings()["force"]
    assert re.findall(r">([A-Z])</text>", svg) == ["A", "B", "C", "D"]


def test_a_drawing_that_stands_alone_names_its_bands() -> None:
    """A file has no table beside it."""
    assert "A  low-speed support: target, compression 0.787 to 3.94 in/s" in drawings()["alone"]


def test_a_band_of_one_velocity_is_drawn_as_a_line() -> None:
    """A band without width would be shaded and yet not seen."""
    one = Window("instant", Role.TARGET, (0.3,), (100.0,), (105.0,), (110.0,), (115.0,))
    svg = force_svg(lines(), units=METRIC, goal=Goal((one,), 0.0, 1.0))
    assert re.search(r"opacity: 0.28; stroke: #e8b04a; stroke-width: 2", svg)


def test_hostile_names_stay_text() -> None:
    """Neither markup nor mathematics is made of a name."""
    line = CurveLine(HOSTILE, (0.0, 1.0), (0.0, 100.0))
    svg = force_svg([line], units=METRIC, title=HOSTILE)
    assert "<script" not in svg
    assert ET.fromstring(svg).get("aria-label") == HOSTILE  # noqa: S314


def test_what_is_not_promised_is_drawn_apart() -> None:
    """Beyond the speed where oil would boil a line is another line, in print and in the terminal."""
    whole = CurveLine("whole", (0.0, 1.0, 2.0), (0.0, 50.0, 100.0))
    part = replace(whole, promised_to=1.5)
    drawn, apart = (force_svg([line], units=METRIC).count("stroke-dasharray") for line in (whole, part))
    assert apart == drawn + 1
    text = force_text([part], units=METRIC, width=80, colour=False)
    assert ":  beyond what the model promises" in text
    assert max(row.rfind(":") for row in text.splitlines() if "│" in row) > 70
    assert ":" not in "".join(force_text([whole], units=METRIC, width=80, colour=False).split("\n")[1:])


def test_a_stroke_without_a_line_gets_no_panel() -> None:
    """A curve of one stroke is one panel."""
    svg = force_svg([CurveLine("in", (0.0, 0.5, 1.0), (0.0, 50.0, 100.0))], units=METRIC)
    assert "compression: shaft velocity" in svg
    assert "rebound: shaft velocity" not in svg


def test_no_line_at_all_is_refused_by_name() -> None:
    """An empty drawing would look like a damper without force."""
    with pytest.raises(ValueError, match="got no stroke with a line in it"):
        force_svg([CurveLine("none", (0.0,), (0.0,))], units=METRIC)


def test_a_line_with_a_point_missing_is_refused_by_name() -> None:
    """One force for each velocity."""
    with pytest.raises(ValueError, match="curve 'short': got 1 forces, expected one for each of 2"):
        CurveLine("short", (0.0, 1.0), (0.0,))


@pytest.mark.parametrize("width", [40, 72, 100, 160])
def test_the_terminal_drawing_keeps_to_its_width(width: int) -> None:
    """Whatever the terminal that the tests run in."""
    text = force_text(lines(), units=METRIC, width=width, goal=goal(), colour=False)
    plotted = [row for row in text.splitlines() if "│" in row or "┌" in row or "└" in row]
    assert {len(row) for row in plotted} == {width}


def test_no_color_forbids_colour(monkeypatch: pytest.MonkeyPatch) -> None:
    """NO_COLOR set to anything but nothing (no-color.org) leaves no escape in the text."""
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b" not in force_text(lines(), units=METRIC, width=80)
    monkeypatch.setenv("NO_COLOR", "")
    assert "\x1b" in force_text(lines(), units=METRIC, width=80)


def test_the_terminal_tells_lines_apart_without_colour() -> None:
    """Each has a character of its own, explained below."""
    slow = tuple(v / 10 for v in range(21))
    pair = [
        CurveLine(name, slow, tuple(law(v, f) for v in slow)) for name, f in (("4 out", 1.0), ("8 out", 0.6))
    ]
    text = force_text(pair, units=METRIC, width=80, colour=False)
    assert ".  4 out" in text
    assert "#  8 out" in text
    assert text.count("#") > 20
    assert sum(row.count(".") for row in text.splitlines() if "│" in row) > 20


def test_bands_are_lettered_and_named_in_the_terminal() -> None:
    """The letters of the sheet, with their names below."""
    text = force_text(lines(), units=METRIC, width=90, goal=goal(), colour=False)
    assert "A  low-speed support: target, 0.02 to 0.1 m/s" in text
    assert "D  rebound: hold, 0.05 to 1.5 m/s" in text


@pytest.mark.parametrize(("moved", "panels"), [(0.0005, 1), (0.01, 2)])
def test_a_stroke_that_nothing_touches_takes_one_line_in_the_terminal(moved: float, panels: int) -> None:
    """A tuner in a hurry looks at what was changed; with a hundredth more it is drawn."""
    speeds = (-1.0, -0.5, 0.0, 0.5, 1.0)
    before = CurveLine("before", speeds, (-90.0, -50.0, 0.0, 60.0, 100.0))
    after = CurveLine("after", speeds, (-90.0, -50.0 * (1 + moved), 0.0, 66.0, 110.0))
    asked = Goal((Window("low", Role.TARGET, (0.5,), (60.0,), (64.0,), (66.0,), (68.0,)),), 0.0, 0.01)
    text = force_text([before, after], units=METRIC, width=80, goal=asked, colour=False)
    assert text.count("┌") == panels
    assert ("rebound: not drawn, since nothing changes there by more than 0.1 %" in text) is (panels == 1)
    assert force_text([before, after], units=METRIC, width=80, colour=False).count("┌") == 2
