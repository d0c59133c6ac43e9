"""A planned job for the terminal: what to do comes first, then why, then the curve."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import Console

from optimiser.plan import Candidate
from optimiser.planning import Planned
from optimiser.report.band_rows import band_rows
from optimiser.report.plan_sheet import adjusters, said, sheet_of
from optimiser.report.sheet import height_advice
from optimiser.report.steps import hole_of, steps
from optimiser.report.tables import adjusters_table, bands_table, candidates_table, steps_table
from optimiser.report.terminal import force_text
from optimiser.report.unit_system import UnitSystem


def print_plan(console: Console, planned: Planned, *, pick: int, units: UnitSystem) -> None:
    """Show a plan.

    Parameters
    ----------
    console : where to.
    planned : the job and its answer.
    pick : which candidate the details are about, from 1.
    units : what people read.
    """
    console.print(f"[bold]{_plain(planned.loaded.job.title)}[/bold]")
    console.print(_plain(f"{planned.loaded.damper.name}, {planned.section.name}"))
    for finding in planned.gate.findings:
        mark = "First" if finding.stops else "Mind"
        console.print(_plain(f"{mark}: {finding.what}: got {finding.got}, expected {finding.expected}."))
        console.print(_plain(f"  {finding.do_this} {finding.why}"))
    if planned.gate.override_reason is not None:
        console.print(_plain(f"Gone on although: {planned.gate.override_reason}"))
    console.print(f"\n[bold]{_plain(said(planned))}[/bold]\n")
    for advice in planned.advice:
        console.print(_plain(advice) + "\n")
    answer, asked = planned.answer, planned.asked
    if answer is None or asked is None:
        return
    if planned.outcome != "clicks" and (answer.candidates or answer.nearest):
        console.print(candidates_table(answer, units=units))
    candidate = answer.candidates[pick - 1] if answer.candidates else answer.nearest
    if candidate is None:
        return
    _details(console, planned, candidate, units)
    for reason in asked.reasons:
        console.print(_plain(reason), style="dim")


def _details(console: Console, planned: Planned, candidate: Candidate, units: UnitSystem) -> None:
    asked = planned.asked
    if asked is None:
        return
    if candidate.changes:
        console.print(steps_table(steps(candidate.changes, hole=hole_of(planned.old_stack))))
        console.print(_plain(height_advice(candidate.stack.height - planned.old_stack.height, units)))
    if any(adjuster.before != adjuster.after for adjuster in adjusters(planned, candidate)):
        console.print(adjusters_table(adjusters(planned, candidate)))
    console.print(bands_table(band_rows(asked.goal, candidate.forces), units=units))
    for words in _felt(planned, candidate, units):
        console.print(_plain(words))
    sheet = sheet_of(planned, candidate)
    drawn = force_text(
        sheet.curves, units=units, width=min(console.width, 100), goal=asked.goal, colour=in_colour(console)
    )
    console.out(drawn, highlight=False)


def _felt(planned: Planned, candidate: Candidate, units: UnitSystem) -> Iterator[str]:
    """Damping ratios before and after, one sentence a target."""
    place = planned.felt_at
    if place is None:
        return
    for one in planned.felt(candidate):
        yield (
            f"As felt in '{one.band}': damping ratio {one.before.damping_ratio:.2f} before, "
            f"{one.after.damping_ratio:.2f} after ({place.corner}, at {units.length_text(place.sag)} of sag, "
            f"{units.velocity_text(one.wheel_velocity)} {units.velocity_unit} at the wheel); "
            "context, not a target."
        )


def in_colour(console: Console) -> bool:
    """Whether what is drawn may carry colour: only for a person at a terminal who has not said NO_COLOR."""
    return console.is_terminal and not console.no_color


def _plain(text: str) -> str:
    """Text whose brackets are only brackets."""
    return text.replace("[", r"\[")
