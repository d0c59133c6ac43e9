"""A planned job for the terminal: what to do comes first, then why, then the curve."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from optimiser.jobs.planned import Planned
from optimiser.jobs.whole_setup import opens_all
from optimiser.model.answer import Candidate
from optimiser.report.band_table import bands_table
from optimiser.report.candidates import candidates_table
from optimiser.report.confidence_text import confidence_words
from optimiser.report.console import in_colour, print_drawing
from optimiser.report.curve_text import oil_words
from optimiser.report.findings_text import print_findings, unchecked_words
from optimiser.report.in_units import in_units
from optimiser.report.ladder_text import (
    LadderView,
    advice_text,
    effort_lines,
    ladder_drawing,
    ladder_table,
)
from optimiser.report.part_text import part_lines, parts_table
from optimiser.report.plan_sheet import said
from optimiser.report.ride_text import print_behind
from optimiser.report.sheet import BuildSheet, height_advice
from optimiser.report.shelf_words import real_words, shelf_text
from optimiser.report.stress_words import stress_words
from optimiser.report.sure_text import WHAT_DRAWN, sure_note, sure_table, sure_words
from optimiser.report.tables import adjusters_table, steps_table
from optimiser.report.terminal import force_text
from optimiser.report.unanswered import unanswered_words
from optimiser.report.unit_system import UnitSystem
from optimiser.report.way_out_text import HEAD, in_the_way_text, none_alone_text, ways_out


def print_plan(
    console: Console,
    planned: Planned,
    *,
    candidate: Candidate | None,
    sheet: BuildSheet | None,
    units: UnitSystem,
) -> None:
    """Show a plan.

    Parameters
    ----------
    console : where to.
    planned : the job and its answer.
    candidate : which one the details are about; None when there is none.
    sheet : its build sheet, computed already; None when there is none.
    units : what people read.
    """
    _head(console, planned, candidate, units)
    view = LadderView.of(planned)
    if view is not None:
        if (first := advice_text(view, units=units)) is not None:
            console.print(first + "\n")
        console.print(ladder_table(view, units=units))
        for line in effort_lines(view):
            console.print(line)
        console.print()
        if (sure := sure_table(view)) is not None:
            console.print(sure)
        console.out(ladder_drawing(view) + "\n", highlight=False)
    _parts(console, planned, units)
    if planned.ride is not None:
        print_behind(console, planned.ride, units=units)
    unchecked = unchecked_words(planned.gate)
    told = () if unchecked is None else (unchecked,)
    for words in (*confidence_words(planned), *planned.advice, *planned.remarks, *told):
        console.print(in_units(words, units) + "\n")
    if planned.answer is not None:
        unanswered = planned.answer.unanswered
        for words in unanswered_words(unanswered, settings=planned.settings, old=planned.old_stack):
            console.print(words + "\n")
    _ways_out(console, planned, units)
    answer, asked = planned.answer, planned.asked
    if answer is None or asked is None:
        return
    if planned.outcome not in {"clicks", "near enough"} and (answer.candidates or answer.nearest):
        console.print(candidates_table(answer, units=units, notes=lambda one: _notes(planned, one, view)))
    if candidate is None or sheet is None:
        return
    _details(console, planned, candidate, sheet, units)
    for reason in asked.reasons:
        console.print(in_units(reason, units), style="dim")


def _head(console: Console, planned: Planned, candidate: Candidate | None, units: UnitSystem) -> None:
    """The job, what the basics have found, and the answer in a sentence."""
    console.print(Text(planned.job.title, style="bold"))
    names = () if candidate is None else candidate.opened(planned.mounted.name)
    shut = "all stacks" if opens_all(planned.job) else planned.mounted.name
    console.print(f"{planned.job.damper.name}, {' and '.join(names) or shut}")
    print_findings(console, planned.gate.findings, units=units)
    if planned.gate.override_reason is not None:
        console.print(f"Gone on although: {planned.gate.override_reason}")
    console.print()
    if planned.answer is not None:
        console.print(Text(in_units(said(planned), units), style="bold"))
        console.print()


def _parts(console: Console, planned: Planned, units: UnitSystem) -> None:
    """What other parts do, where the job says what is at hand."""
    if planned.parts is None:
        return
    console.print(parts_table(planned.parts, units=units))
    for words in part_lines(planned.parts, units=units):
        console.print(Text(words))
    console.print()


def _ways_out(console: Console, planned: Planned, units: UnitSystem) -> None:
    """What stands in the way, and what would do, each with its command on a line that no width cuts."""
    out = planned.way_out
    if out is None:
        return
    way = in_the_way_text(out, units=units)
    if way is not None:
        console.print(way + "\n")
    none = none_alone_text(out)
    if none is not None:
        console.print(none + "\n")
    console.print(HEAD)
    for words, line in ways_out(planned):
        console.print(Padding(in_units(words, units), (0, 0, 0, 2)))
        console.out(f"    {line}", highlight=False)
    console.print()


def _notes(planned: Planned, candidate: Candidate, view: LadderView | None) -> Iterator[str]:
    """Clicks that go with a candidate, where it works, how many are like it, what it takes, how sure."""
    moved = planned.turned(candidate)
    if moved and candidate.number_of_changes:
        yield "; ".join(f"{name} {at} to {to} out" for name, (at, to) in moved.items())
    idea = planned.idea_of(candidate)
    if idea is not None and not candidate.others:
        alike = len(idea.twins)
        yield "; ".join([idea.way.words, *([f"and {alike} more like it"] if alike else [])])
    taken = planned.taken(candidate)
    if taken:
        yield "; ".join(shelf_text(one) for one in taken)
    sure = planned.sure.of(candidate)
    if sure is not None and view is not None:
        yield sure_note(sure, view, surest=candidate == planned.surest)


def _details(
    console: Console, planned: Planned, candidate: Candidate, sheet: BuildSheet, units: UnitSystem
) -> None:
    for words in sheet.part_steps:
        console.print(Text(in_units(words, units)))
    if sheet.steps:
        console.print(steps_table(sheet.steps, name=sheet.heading.valve if planned.open_stacks else ""))
        console.print(height_advice(sheet.height_change, units))
    for one in sheet.others:
        if one.steps:
            console.print(steps_table(one.steps, name=one.name))
        console.print(("" if one.steps else f"{one.name}: ") + height_advice(one.height_change, units))
    if sheet.stays_shut:
        console.print(sheet.stays_shut)
    if any(adjuster.before != adjuster.after for adjuster in sheet.adjusters):
        console.print(adjusters_table(sheet.adjusters))
    console.print(bands_table(sheet.bands, units=units))
    job = planned.job
    oil = oil_words(job.damper.damper, temperature=job.work.temperature)
    console.print(in_units(oil, units))
    if (built := real_words(planned, candidate)) is not None:
        console.print(built)
    if sheet.sure is not None:
        for words in (*sure_words(sheet.sure, sheet.new_stack, units=units), WHAT_DRAWN):
            console.print(words)
    if planned.stress is not None:
        console.print(stress_words(planned.stress, candidate, old=planned.old_stack, units=units))
    for words in _felt(planned, candidate, units):
        console.print(words)
    drawn = force_text(
        sheet.curves,
        units=units,
        width=min(console.width, 100),
        goal=sheet.goal,
        colour=in_colour(console),
        measured=sheet.measured,
    )
    print_drawing(console, drawn)


def _felt(planned: Planned, candidate: Candidate, units: UnitSystem) -> Iterator[str]:
    """Damping ratios before and after, one sentence a target."""
    place = planned.felt_at
    if place is None:
        return
    for one in planned.felt(candidate):
        yield (
            f"As felt in '{one.band}': damping ratio {one.before.damping_ratio:.2f} before, "
            f"{one.after.damping_ratio:.2f} after ({place.corner}, at {units.travel_text(place.sag)} of sag, "
            f"{units.velocity_text(one.wheel_velocity)} {units.velocity_unit} at the wheel); "
            "context, not a target."
        )
