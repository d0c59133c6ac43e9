"""Dampers laid over one another, for the terminal: what each is, what it does to every band, the curves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Final

from rich.console import Console
from rich.text import Text

from damping_model.stack.stack import Stack
from optimiser.files.stack_text import lines_from_shims
from optimiser.jobs.what_if import Compared, Comparison
from optimiser.model.edits import changes_between, keys_of
from optimiser.model.goal import Role, Window
from optimiser.model.percent import TRUE_MINUS, percent_text
from optimiser.report.band_rows import marks
from optimiser.report.band_table import range_text
from optimiser.report.candidates import steps_text
from optimiser.report.console import in_colour, print_drawing
from optimiser.report.curve_text import boiling_text
from optimiser.report.plan_sheet import curve_line
from optimiser.report.steps import hole_of
from optimiser.report.strokes import stroke_of
from optimiser.report.terminal import force_text
from optimiser.report.terminal_changes import changes_text
from optimiser.report.unit_system import UnitSystem

LEAST_LABEL: Final = 12
"""Characters of a label that are left however narrow the terminal is."""


def print_comparison(
    console: Console,
    found: Comparison,
    *,
    title: str,
    faults: Sequence[Sequence[str]],
    minds: Sequence[Sequence[str]],
    units: UnitSystem,
    drawn: bool = True,
) -> None:
    """Show dampers laid over one another.

    Parameters
    ----------
    console : where to.
    found : the dampers, the first as the others are measured against it.
    title : what is compared, in a line.
    faults : of each damper, the rules of building that its stack breaks, in sentences.
    minds : of each damper, what else speaks against it, in sentences.
    units : what people read.
    drawn : whether to draw the curves.
    """
    console.print(Text(title, style="bold"))
    for number, (case, broken, mind) in enumerate(zip(found.cases, faults, minds, strict=True), 1):
        console.print(Text(f"{number}  {case.what.label}"))
        against = [f"Cannot be built: {one}" for one in broken]
        for words in (*what_it_is(found, case, units=units), *against, *mind):
            for line in wrap(words, width=max(min(console.width, 100) - 3, 20)):
                console.print(Text(f"   {line}"))
    console.print()
    _print_bands(console, found, units)
    if drawn:
        _draw(console, found, units)
    for case in found.cases:
        for words in boiling_text(case.what.label, case.curve):
            console.print(Text(words))


def _draw(console: Console, found: Comparison, units: UnitSystem) -> None:
    """The changes, which curves themselves would hide, and the curves."""
    lines = [
        curve_line(f"{number} {case.what.label}", case.curve) for number, case in enumerate(found.cases, 1)
    ]
    width, colour = min(console.width, 100), in_colour(console)
    if len(lines) > 1:
        print_drawing(console, changes_text(lines, units=units, width=width, goal=found.goal, colour=colour))
        console.print()
    print_drawing(console, force_text(lines, units=units, width=width, goal=found.goal, colour=colour))


def what_it_is(found: Comparison, case: Compared, *, units: UnitSystem) -> Iterator[str]:
    """The stack of a case where it is the first that has it, and what is changed in it."""
    first, stack = found.cases[0].what, case.what.stack
    before = [one.what.stack for one in found.cases[: found.cases.index(case)]]
    if stack is None or stack in before:
        return
    yield ", ".join(lines_from_shims(keys_of(stack), hole=hole_of(stack)))
    if first.stack is not None and case.what.damper.name == first.damper.name and stack != first.stack:
        yield changed_text(first.stack, stack, units=units)


def changed_text(old: Stack, new: Stack, *, units: UnitSystem) -> str:
    """What turns one stack into another, and what becomes of the height."""
    changes = changes_between(old, new)
    count = "1 change" if len(changes) == 1 else f"{len(changes)} changes"
    return f"{count}: {steps_text(changes, hole=hole_of(new))}; {height_text(new.height - old.height, units)}"


def height_text(change: float, units: UnitSystem) -> str:
    """A change of height [m] in words."""
    size = units.length_text(abs(change))
    if size == units.length_text(0.0):
        return "as high as before"
    return f"{size} {'higher' if change > 0 else 'lower'}"


def band_words(window: Window, units: UnitSystem) -> str:
    """A band with its stroke, its velocities and what is allowed there."""
    speeds = [abs(velocity) for velocity in window.velocities]
    role = "" if window.role is Role.SHOWN else f"{window.role.value}, "
    return f"{window.name}: {role}{stroke_of(window)}, {units.span_text(min(speeds), max(speeds))}"


def newtons_text(newtons: float, units: UnitSystem) -> str:
    """A change of force [N] with its sign."""
    text = units.force_text(newtons)
    return text.replace("-", TRUE_MINUS) if text.startswith("-") or float(text) == 0 else f"+{text}"


def case_cells(found: Comparison, place: int, case: Compared, *, units: UnitSystem) -> tuple[str, ...]:
    """Figures of a case in a band: force, change in force and in percent, its range, verdict.

    The first case, which the others are measured against, has its force alone.
    """
    result, window = case.bands[place], found.goal.windows[place]
    verdict = (result.verdict.value,) if window.role is not Role.SHOWN else ()
    if len(found.cases) == 1:
        return (units.force_text(result.after),)
    if case is found.cases[0]:
        return (units.force_text(result.after), "", "", "", *("" for _ in verdict))
    return (
        units.force_text(result.after),
        newtons_text(result.after - result.before, units),
        percent_text(result.mean),
        range_text(result.least, result.most),
        *verdict,
    )


def case_heads(found: Comparison, units: UnitSystem) -> tuple[str, ...]:
    """What the figures of :func:`case_cells` are."""
    verdict = ("verdict",) if _asked(found) else ()
    if len(found.cases) == 1:
        return (units.force_unit,)
    return (units.force_unit, f"change, {units.force_unit}", "change", "over the band", *verdict)


def _asked(found: Comparison) -> bool:
    """Whether a job asks something of the bands; of one that does, each band is asked something of."""
    return any(window.role is not Role.SHOWN for window in found.goal.windows)


def _print_bands(console: Console, found: Comparison, units: UnitSystem) -> None:
    """A line for each band and below it one for each case, figures below one another throughout."""
    windows = list(zip(marks(), found.goal.windows, strict=False))
    rows = [[case_cells(found, at, case, units=units) for case in found.cases] for at in range(len(windows))]
    heads = case_heads(found, units)
    columns = zip(heads, *(cells for row in rows for cells in row), strict=True)
    widths = [max(map(len, column)) for column in columns]
    labels = [f"   {number}  {case.what.label}" for number, case in enumerate(found.cases, 1)]
    room = max(min(console.width, 100) - sum(widths) - 2 * len(widths), LEAST_LABEL)
    room = min(room, max(map(len, labels)))

    def line(label: str, cells: Sequence[str]) -> str:
        figures = "".join(f"  {cell:>{width}}" for cell, width in zip(cells, widths, strict=True))
        return f"{clipped_to(label, room):<{room}}{figures}".rstrip()

    title = f"Damping force at the shaft, {units.force_unit}, average over each band"
    title += "; change from 1" if len(found.cases) > 1 else ""
    console.print(Text(title, style="italic"))
    console.print(Text(line("", heads)), no_wrap=True, overflow="ignore", crop=False)
    for place, (mark, window) in enumerate(windows):
        allowed = ""
        if window.role is not Role.SHOWN:
            allowed = f"; allowed {range_text(*found.cases[-1].bands[place].allowed)}"
        console.print(Text(f"{mark}  {band_words(window, units)}{allowed}", style="bold"))
        for label, cells in zip(labels, rows[place], strict=True):
            console.print(Text(line(label, cells)), no_wrap=True, overflow="ignore", crop=False)
    console.print()


def clipped_to(text: str, room: int) -> str:
    """Text that is cut where it is too long for its room, and says so."""
    return text if len(text) <= room else text[: room - 1] + "\N{HORIZONTAL ELLIPSIS}"
