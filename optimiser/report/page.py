"""The build sheet as one HTML page that needs no network and no script, for a screen, a phone and paper."""

from __future__ import annotations

from functools import partial

from optimiser.model.goal import Role
from optimiser.model.percent import percent_text
from optimiser.model.taken import Taken
from optimiser.report.band_table import range_text, where_text
from optimiser.report.candidates import aimed_text
from optimiser.report.curves import change_svg, force_svg
from optimiser.report.finding import FindingKind
from optimiser.report.in_units import in_units
from optimiser.report.ladder_picture import ladder_svg
from optimiser.report.ladder_text import (
    advice_text,
    effort_words,
    elsewhere_text,
    on_target_texts,
    opened_words,
    verdict_text,
)
from optimiser.report.printable import printable
from optimiser.report.ride_drawing import travel_svg
from optimiser.report.ride_text import behind_lines
from optimiser.report.section import section_svg
from optimiser.report.section_labels import Label, labels_of
from optimiser.report.service_notes import service_notes
from optimiser.report.sheet import BuildSheet, height_advice
from optimiser.report.shelf_words import which_of_drawer
from optimiser.report.stack_to_build import StackToBuild
from optimiser.report.sure_text import WHAT_DRAWN, chances_of, change_note, sure_words
from optimiser.report.templates import template
from optimiser.report.unit_system import UnitSystem

ROLE_WORDS = {Role.TARGET: "target", Role.HOLD: "hold", Role.FAMILIARITY: "familiar"}


def sheet_html(sheet: BuildSheet, *, units: UnitSystem) -> str:
    """The page for a sheet: the same sheet gives the same text, byte for byte.

    Parameters
    ----------
    sheet : what to show; any text in it may come from a stranger and is escaped.
    units : what people read; shims stay in mm.
    """
    opened = bool(sheet.steps or sheet.others) or sheet.new_stack != sheet.old_stack
    pair = sheet.curves[:2]
    change = change_svg(*pair, sheet.goal, units=units) if len(pair) == 2 else None
    page = template("sheet.html.jinja").render(
        sheet=sheet,
        heading=sheet.heading,
        finding=sheet.finding,
        opened=opened,
        nearest=sheet.finding.kind is FindingKind.NEAREST,
        kind_line=_kind_line(sheet),
        stacks=" and ".join([sheet.heading.valve, *(one.name for one in sheet.others)]),
        opens=opened_words,
        drawings=_drawings(sheet, f"{sheet.heading.valve}: " if sheet.others else ""),
        force_picture=force_svg(
            sheet.curves,
            units=units,
            goal=sheet.goal,
            title="Force before and after",
            measured=sheet.measured,
        ),
        change_picture=change,
        height_line=height_advice(sheet.height_change, units),
        height_before=units.length_text(sheet.old_stack.height),
        height_after=units.length_text(sheet.new_stack.height),
        units=units,
        in_units=partial(in_units, units=units),
        percent=percent_text,
        percents=range_text,
        where=partial(where_text, units=units),
        role_words=ROLE_WORDS,
        first=None if sheet.ladder is None else advice_text(sheet.ladder, units=units),
        ladder_picture=None if sheet.ladder is None else ladder_svg(sheet.ladder, title="Steps of effort"),
        effort=effort_words,
        on_target=on_target_texts,
        elsewhere=elsewhere_text,
        aimed=aimed_text,
        verdict=verdict_text,
        sure=()
        if sheet.sure is None
        else (*sure_words(sheet.sure, sheet.new_stack, units=units), WHAT_DRAWN),
        interval=change_note,
        ride_picture=None
        if sheet.ride is None
        else travel_svg(sheet.ride[0], sheet.ride[0].events[0], units=units, place=sheet.ride[1]),
        ride_lines=() if sheet.ride is None else tuple(behind_lines(sheet.ride[0], units=units)),
        chances=() if sheet.ladder is None else chances_of(sheet.ladder),
        layout=_layout(sheet),
        others=[
            {
                "name": one.name,
                "steps": one.steps,
                "layout": _layout(one),
                "height_line": height_advice(one.height_change, units),
                "height_before": units.length_text(one.old_stack.height),
                "height_after": units.length_text(one.new_stack.height),
                "drawings": _drawings(one, f"{one.name}: "),
            }
            for one in sheet.others
        ],
        shelf=from_drawer,
        service=None
        if sheet.service is None
        else service_notes(
            sheet.service,
            height=sheet.new_stack.height,
            others={one.name: one.new_stack.height for one in sheet.others},
            opened=opened,
            units=units,
        ),
    )
    return printable(page)


def _drawings(one: BuildSheet | StackToBuild, name: str) -> dict[str, str]:
    """Sections of a stack as it is and as it is to be; ``name`` stands before their titles."""
    return {
        "old": section_svg(
            one.old_stack,
            one.seating,
            title=_title(name, "the stack as it is"),
            taken_out=one.taken_out,
            beside=(one.new_stack,),
        ),
        "new": section_svg(
            one.new_stack,
            one.seating,
            title=_title(name, "the stack to build"),
            put_in=one.put_in,
            beside=(one.old_stack,),
        ),
    }


def _title(name: str, what: str) -> str:
    title = name + what
    return title[0].upper() + title[1:]


def _layout(one: BuildSheet | StackToBuild) -> tuple[Label, ...]:
    """The whole stack in words, from the piston."""
    return labels_of(
        one.new_stack.shims, put_in=one.put_in, taken_out=(), clamp_radius=one.seating.clamp_radius
    )


def from_drawer(taken: Taken) -> str:
    """Where a shim lies and what stays there: ``hole 8, drawer B3, uses 1 of 4``."""
    drawer = f"drawer {taken.drawer}, " if taken.drawer else ""
    which = which_of_drawer(taken)
    uses = f"uses {taken.count} of {taken.of}{f', {which}' if which else ''}"
    return f"hole {taken.key.inner / 1000:g}, {drawer}{uses}"


def _kind_line(sheet: BuildSheet) -> str:
    finding = sheet.finding
    changes = len(sheet.steps) + sum(len(one.steps) for one in sheet.others)
    stacks = bool(sheet.steps) + sum(bool(one.steps) for one in sheet.others)
    where = f"{stacks} stacks" if stacks > 1 else "the stack"
    if finding.kind is FindingKind.PARTS:
        return "Other parts, the same shims"
    if finding.kind is FindingKind.CLICKS:
        return "No spanner: turn the adjusters, leave the damper shut"
    if finding.kind is FindingKind.NEAR_ENOUGH:
        return "Near enough: it misses by less than a rider feels"
    if finding.kind is FindingKind.NEAREST:
        found = "Cannot be reached" if finding.proven else "Not reached"
        return f"{found}. The nearest is shown: do not build it without the rider's word"
    places = f"Change one place in {where}" if changes == 1 else f"Change {changes} places in {where}"
    return f"Other parts, and: {places.lower()}" if finding.parts else places
