"""Dampers laid over one another as one HTML page: figures by band, sections side by side, curves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from damping_model.stack.stack import Stack
from optimiser.jobs.what_if import Compared, Comparison, WhatIf
from optimiser.model.edits import changes_between
from optimiser.model.goal import Goal, Role
from optimiser.model.percent import percent_text
from optimiser.report.band_rows import marks
from optimiser.report.band_table import range_text
from optimiser.report.compare_text import (
    band_words,
    case_cells,
    case_heads,
    changed_text,
    what_it_is,
)
from optimiser.report.curve_text import boiling_text
from optimiser.report.curves import changes_svg, force_svg
from optimiser.report.each_shim_picture import each_shim_svg
from optimiser.report.each_shim_text import (
    moved_bands,
    places_text,
    shims_text,
    tries_of,
    unmoved_text,
)
from optimiser.report.plan_sheet import WHAT_IT_RESTS_ON, curve_line
from optimiser.report.printable import printable
from optimiser.report.section import section_svg
from optimiser.report.stack_to_build import Seating
from optimiser.report.steps import hole_of, places_in, places_out
from optimiser.report.templates import template
from optimiser.report.unit_system import UnitSystem
from optimiser.studies.each_shim import ShimTried

MOST_DRAWN = 6
"""Stacks that are drawn side by side; more would be a wall."""


def compare_html(
    found: Comparison,
    *,
    title: str,
    faults: Sequence[Sequence[str]],
    minds: Sequence[Sequence[str]],
    shims: Sequence[ShimTried],
    units: UnitSystem,
) -> str:
    """The page; it needs no network and no script.

    Parameters
    ----------
    found : the dampers, the first as the others are measured against it.
    title : what is compared; any text may come from a stranger and is escaped.
    faults : of each damper, the rules of building that its stack breaks.
    minds : of each damper, what else speaks against it.
    shims : what each shim does; empty when that was not looked at.
    units : what people read; shims stay in mm.
    """
    lines = [curve_line(_short(number, case), case.curve) for number, case in enumerate(found.cases, 1)]
    stack = found.cases[0].what.stack
    hole = None if stack is None else hole_of(stack)
    page = template("compare.html.jinja").render(
        title=title,
        day=date.today().isoformat(),
        units=units,
        heads=case_heads(found, units),
        cases=[
            {
                "label": case.what.label,
                "words": list(what_it_is(found, case, units=units)),
                "against": [*(f"Cannot be built: {one}" for one in broken), *mind],
            }
            for case, broken, mind in zip(found.cases, faults, minds, strict=True)
        ],
        bands=list(_bands(found, units)),
        shims=[] if hole is None else [_shim(shim, hole, found.goal, shims) for shim in shims],
        moved=[
            {"mark": mark, "words": band_words(window, units)}
            for _, mark, window in moved_bands(shims, found.goal)
        ],
        unmoved=unmoved_text(shims, found.goal) if shims else "",
        shims_picture=each_shim_svg(shims, found.goal, hole=hole, title="What each shim does")
        if shims and hole is not None
        else None,
        drawings=list(_drawings(found, units)),
        force_picture=force_svg(lines, units=units, goal=found.goal, title="Damping force")
        if len(lines) > 1 or not shims
        else None,
        change_picture=changes_svg(lines, found.goal, units=units) if len(lines) > 1 else None,
        boiling=[words for case in found.cases for words in boiling_text(case.what.label, case.curve)],
        basis=WHAT_IT_RESTS_ON,
    )
    return printable(page)


def _short(number: int, case: Compared) -> str:
    """A name for the legend, which is narrow: the list above the drawings has the whole."""
    label = case.what.label
    return f"{number}  {label if len(label) <= 18 else label[:17] + chr(0x2026)}"


def _bands(found: Comparison, units: UnitSystem) -> Iterator[dict[str, Any]]:
    for place, (mark, window) in enumerate(zip(marks(), found.goal.windows, strict=False)):
        asked = window.role is not Role.SHOWN
        yield {
            "mark": mark,
            "words": band_words(window, units),
            "allowed": range_text(*found.cases[-1].bands[place].allowed) if asked else "",
            "rows": [
                {"label": case.what.label, "cells": case_cells(found, place, case, units=units)}
                for case in found.cases
            ],
        }


def _shim(shim: ShimTried, hole: int, goal: Goal, shims: Sequence[ShimTried]) -> dict[str, Any]:
    return {
        "places": places_text(shim),
        "what": shims_text(shim, hole=hole),
        "tried": [
            {
                "name": name,
                "cells": [
                    percent_text(tried.bands[place].mean)
                    for place, _, _ in (moved_bands(shims, goal) if tried.bands else ())
                ],
                "why_not": " ".join(tried.why_not),
                "mind": "" if tried.mind is None else tried.mind.value,
            }
            for name, tried in tries_of(shim)
        ],
    }


def _drawings(found: Comparison, units: UnitSystem) -> Iterator[dict[str, Any]]:
    """Every stack once in its own damper, thicknesses to one scale; what is not in the first is marked."""
    shown: dict[tuple[str, Stack], tuple[WhatIf, list[str]]] = {}
    for number, case in enumerate(found.cases, 1):
        what = case.what
        if what.stack is not None and what.mounting is not None:
            _, words = shown.setdefault((what.damper.name, what.stack), (what, []))
            words.append(f"{number}  {what.label}")
    drawn = list(shown.values())[:MOST_DRAWN]
    stacks = [what.stack for what, _ in drawn if what.stack is not None]
    for (what, words), stack in zip(drawn, stacks, strict=True):
        alike = what.damper.name == drawn[0][0].damper.name
        changes = changes_between(stacks[0], stack) if alike else ()
        leaving = changes_between(stack, stacks[1]) if len(stacks) == 2 and stack is stacks[0] else ()
        title = ", ".join(words)
        yield {
            "words": title,
            "note": changed_text(stacks[0], stack, units=units) if changes else "",
            "picture": section_svg(
                stack,
                _seating(what),
                title=title,
                put_in=places_in(changes),
                taken_out=places_out(leaving) if _of_one_damper(drawn) else (),
                beside=stacks,
            ),
        }


def _of_one_damper(drawn: Sequence[tuple[WhatIf, list[str]]]) -> bool:
    return len({what.damper.name for what, _ in drawn}) == 1


def _seating(what: WhatIf) -> Seating:
    """What the stack of a damper lies on."""
    assert what.stack_name is not None  # noqa: S101 (only what has a stack is drawn)
    assert what.mounting is not None  # noqa: S101
    path = what.damper.stack_path(what.stack_name)
    return Seating.of(path, bore_radius=what.mounting.bore_radius)
