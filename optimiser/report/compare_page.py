"""Dampers laid over one another as one HTML page: figures by band, sections side by side, curves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from damping_model.stack.stack import Stack
from optimiser.jobs.what_if import Compared, Comparison
from optimiser.model.damper_description import MountedStack
from optimiser.model.edits import changes_between
from optimiser.model.goal import Role
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
from optimiser.report.each_shim_text import places_text, shims_text, tries_of
from optimiser.report.plan_sheet import WHAT_IT_RESTS_ON, curve_line
from optimiser.report.printable import printable
from optimiser.report.section import section_svg
from optimiser.report.sheet import Seating
from optimiser.report.steps import hole_of, places_in, places_out
from optimiser.report.unit_system import UnitSystem
from optimiser.studies.each_shim import ShimTried

MOST_DRAWN = 6
"""Stacks that are drawn side by side; more would be a wall."""


def compare_html(
    found: Comparison,
    *,
    title: str,
    place: MountedStack | None,
    faults: Sequence[Sequence[str]],
    shims: Sequence[ShimTried],
    units: UnitSystem,
) -> str:
    """The page; it needs no network and no script.

    Parameters
    ----------
    found : the dampers, the first as the others are measured against it.
    title : what is compared; any text may come from a stranger and is escaped.
    place : where the stacks lie, for their drawings; None where no stack is meant.
    faults : of each damper, the rules of building that its stack breaks.
    shims : what each shim does; empty when that was not looked at.
    units : what people read; shims stay in mm.
    """
    lines = [curve_line(_short(number, case), case.curve) for number, case in enumerate(found.cases, 1)]
    hole = None if place is None else hole_of(place.stack)
    page = _template().render(
        title=title,
        day=date.today().isoformat(),
        units=units,
        heads=case_heads(found, units),
        cases=[
            {"label": case.what.label, "words": list(what_it_is(found, case, units=units)), "faults": broken}
            for case, broken in zip(found.cases, faults, strict=True)
        ],
        bands=list(_bands(found, units)),
        shims=[] if hole is None else [_shim(shim, hole) for shim in shims],
        shims_picture=each_shim_svg(shims, found.goal, hole=hole, title="What each shim does")
        if shims and hole is not None
        else None,
        drawings=[] if place is None else list(_drawings(found, place, units)),
        force_picture=force_svg(lines, units=units, goal=found.goal, title="Damping force"),
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


def _shim(shim: ShimTried, hole: int) -> dict[str, Any]:
    return {
        "places": places_text(shim),
        "what": shims_text(shim, hole=hole),
        "tried": [
            {
                "name": name,
                "cells": [percent_text(result.mean) for result in tried.bands],
                "why_not": " ".join(tried.why_not),
            }
            for name, tried in tries_of(shim)
        ],
    }


def _drawings(found: Comparison, place: MountedStack, units: UnitSystem) -> Iterator[dict[str, Any]]:
    """Every stack once, all to one scale; what is not in the first is marked in the others."""
    shown: dict[Stack, list[str]] = {}
    for number, case in enumerate(found.cases, 1):
        if case.what.stack is not None and case.what.damper.name == found.cases[0].what.damper.name:
            shown.setdefault(case.what.stack, []).append(f"{number}  {case.what.label}")
    stacks = list(shown)[:MOST_DRAWN]
    seating = Seating(
        bore_radius=place.mounting.bore_radius,
        seat_radius=place.path.seat.seat_radius,
        port_inner_radius=place.path.port_inner_radius,
        port_outer_radius=place.path.port_outer_radius,
        clamp_radius=place.path.seat.clamp_radius,
    )
    first = stacks[0]
    leaving = changes_between(first, stacks[1]) if len(stacks) == 2 else ()
    for stack in stacks:
        changes = changes_between(first, stack)
        words = ", ".join(shown[stack])
        yield {
            "words": words,
            "note": "" if stack == first else changed_text(first, stack, units=units),
            "picture": section_svg(
                stack,
                seating,
                title=words,
                put_in=places_in(changes),
                taken_out=places_out(leaving) if stack is first else (),
                beside=stacks,
            ),
        }


@cache
def _template() -> Template:
    environment = Environment(
        loader=PackageLoader("optimiser.report", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("compare.html.jinja")
