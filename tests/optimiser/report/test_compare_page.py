"""The page of a comparison: every text of a stranger is escaped, every stack drawn once, nothing is cut."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from optimiser.files.damper_builder import read_damper
from optimiser.intake.bands import Band
from optimiser.jobs.what_if import Comparison, WhatIf, compare
from optimiser.model.damper_description import with_stack
from optimiser.model.edits import keys_of, stack_of
from optimiser.report.compare_page import compare_html
from optimiser.report.plan_sheet import curve_line
from optimiser.report.terminal_changes import change_of, changes_text
from optimiser.report.unit_system import UnitSystem
from optimiser.studies.each_shim import ShimTried, each_shim
from tests.helpers import headless_chromium
from tests.helpers.counts import thorough_only
from tests.helpers.page_layout import PageLayout
from tests.helpers.paths import STIFF_SHOP

NAME = "compression stack"


@pytest.fixture(scope="module")
def found() -> Comparison:
    described = read_damper(STIFF_SHOP / "dampers" / "dunnock_shock.toml")
    mounted = described.stack_named(NAME, where="test")
    first = WhatIf(label="as it is", damper=described.damper, stack_name=NAME, mounting=mounted.mounting)
    thinner = with_stack(described.damper, NAME, stack_of(keys_of(mounted.stack)[1:]))
    others = [
        replace(first, label="one <b>out</b> & a very long name that nobody would give it", damper=thinner),
        replace(first, label="warm", temperature=340.0),
    ]
    bands = [Band(f"band {k}", "compression", 0.05 * 2**k, 0.09 * 2**k, 1.0) for k in range(4)]
    return compare([first, *others], bands=bands)


def page_of(found: Comparison, shims: tuple[ShimTried, ...] = ()) -> str:
    none: list[tuple[str, ...]] = [() for _ in found.cases]
    return compare_html(
        found,
        title="A <i>title</i>",
        faults=[("No.",), *none[1:]],
        minds=none,
        shims=shims,
        units=UnitSystem.METRIC,
    )


def tried(found: Comparison) -> tuple[ShimTried, ...]:
    first = found.cases[0].what
    assert first.stack is not None
    assert first.mounting is not None
    toy = found.goal.before
    return each_shim(
        first.stack,
        mounting=first.mounting,
        goal=found.goal,
        forces=lambda stack: np.asarray(toy * (1 + 0.01 * len(stack.shims))),
    )


def test_texts_are_escaped_and_each_stack_is_drawn_once_with_what_is_new_in_it(found: Comparison) -> None:
    page = page_of(found)
    assert "<b>out</b>" not in page
    assert "&lt;b&gt;out&lt;/b&gt; &amp;" in page
    assert page.count('class="section"') == 2
    assert page.count("Cannot be built: No.") == 1
    assert page.count("1 change: out") == 2  # in the list and beside the drawing
    assert page == page_of(found)


def test_a_page_of_each_shim_has_a_row_for_every_try(found: Comparison) -> None:
    shims = tried(found)
    page = page_of(Comparison(found.goal, found.cases[:1]), shims)
    assert page.count("<td>one out</td>") == page.count("<td>one more</td>") == len(shims)
    assert "change from 1" not in page


@thorough_only("starts a browser")
@pytest.mark.browser
@pytest.mark.skipif(headless_chromium.PATH is None, reason="no Chromium on this machine to lay the page out")
@pytest.mark.parametrize("width", [1280, 820, 390, 703])
def test_nothing_is_cut_and_no_text_lies_on_another(
    found: Comparison, width: int, layout: PageLayout
) -> None:
    for page in (page_of(found), page_of(found, tried(found))):
        assert layout.faults(page, width=width, as_print=width == 703) == []


def test_changes_drawn_are_those_of_the_curves_and_a_stroke_without_any_is_left_out(
    found: Comparison,
) -> None:
    lines = [curve_line(case.what.label, case.curve) for case in found.cases]
    change = change_of(lines[0], lines[1], "compression")
    assert change is not None
    ratio = found.cases[1].curve.force_against_motion / found.cases[0].curve.force_against_motion
    assert change == pytest.approx(100 * (ratio[ratio.size // 2 :] - 1))
    drawn = changes_text(lines[:2], units=UnitSystem.METRIC, width=80, goal=found.goal, colour=False)
    assert "compression: change from 1" in drawn
    assert "rebound: change" not in drawn
    same = changes_text([lines[0]] * 2, units=UnitSystem.METRIC, width=80, goal=found.goal, colour=False)
    assert same == "No change of 0.1 % or more at any velocity."
