"""How far each band goes, as a table for the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from optimiser.jobs.setup import JobSetup
from optimiser.jobs.variant import command_line
from optimiser.model.answer import Candidate, Status
from optimiser.model.band_result import mean_before
from optimiser.model.percent import percent_text
from optimiser.report.candidates import changes_text
from optimiser.report.findings_text import print_findings
from optimiser.report.left_out import further_left_out
from optimiser.report.strokes import stroke_of
from optimiser.report.unanswered import unanswered_words
from optimiser.report.unit_system import UnitSystem
from optimiser.studies.reach import BandReach, End, Reach


def print_reach(
    console: Console,
    setup: JobSetup,
    found: Reach,
    *,
    units: UnitSystem,
    each: Mapping[str, tuple[JobSetup, Reach]] | None = None,
) -> None:
    """Show how far each band goes.

    Parameters
    ----------
    console : where to.
    setup : the job.
    found : its reach.
    units : what people read.
    each : every stack alone where all are open, by name.
    """
    each = each or {}
    console.print(Text(setup.job.title, style="bold"))
    where = "all stacks" if each else setup.mounted.name
    console.print(Text(f"{setup.job.damper.name}, {where}"))
    print_findings(console, setup.gate.findings, units=units)
    console.print()
    _print_bands(console, setup, found, units=units)
    for name, (own, alone) in each.items():
        console.print(Text(f"The {name} alone, all others as they are", style="bold"))
        _print_bands(console, own, alone, units=units)
    if each and max(extent.changes for band in found.bands for extent in band.extents) > 1:
        words = "Two stacks share changes as one of each; more than that of two at once is not looked into."
        console.print(Text(words, style="dim"))
    for words in _remarks(setup, found):
        console.print(Text(words, style="dim"))


def _print_bands(console: Console, setup: JobSetup, found: Reach, *, units: UnitSystem) -> None:
    for band in found.bands:
        wanted = "" if band.wanted is None else f"; wanted {percent_text(band.wanted)}"
        words = f"{band.window.name} ({band_words(band, units=units)}{wanted})"
        console.print(Text(words, style="bold"))
        console.print(_table(setup, band))
        if (short := _falls_short(setup, band)) is not None:
            console.print(f"{short}\n")


def _falls_short(setup: JobSetup, band: BandReach) -> str | None:
    """That a target's shift lies beyond its ends, with the way out; None where it does not."""
    if band.wanted is None or not band.extents:
        return None
    widest = band.extents[-1]
    end = widest.least if band.wanted < 0 else widest.most
    if abs(band.wanted) <= abs(end.shift) and band.wanted * end.shift > 0:
        return None
    sure = "" if end.proven else " as far as was looked"
    line = command_line("plan", setup.job.path)
    wanted = percent_text(band.wanted)
    return f"The {wanted} that is wanted lies beyond it{sure}. What would do, this line says: {line}"


def band_words(band: BandReach, *, units: UnitSystem) -> str:
    """What a band is, where, and its force: ``target, compression, 0.06 to 0.12 m/s, 221 N on average``."""
    speeds = [abs(velocity) for velocity in band.window.velocities]
    role = "hold" if band.wanted is None else "target"
    force = f"{units.force_text(mean_before(band.window))} {units.force_unit} on average"
    return f"{role}, {stroke_of(band.window)}, {units.span_text(min(speeds), max(speeds))}, {force}"


def changes_words(changes: int) -> str:
    """A number of changes as people say it."""
    if not changes:
        return "clickers only"
    return "1 change" if changes == 1 else f"{changes} changes"


def _table(setup: JobSetup, band: BandReach) -> Table:
    """Ends of one band, two rows a number of changes, with what leads there."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("With at most", no_wrap=True)
    table.add_column("", no_wrap=True)
    table.add_column("Shift", justify="right", no_wrap=True)
    table.add_column("", no_wrap=True)
    table.add_column("By")
    for extent in band.extents:
        table.add_row(changes_words(extent.changes), "down to", *_cells(setup, extent.least))
        table.add_row("", "up to", *_cells(setup, extent.most))
    return table


def _cells(setup: JobSetup, end: End) -> Iterator[str | Text]:
    yield percent_text(end.shift)
    yield "proven" if end.proven else "not proven"
    yield Text(_by(setup, end.candidate))


def _by(setup: JobSetup, candidate: Candidate) -> str:
    """What leads to an end: shims, clicks, or nothing."""
    if candidate.number_of_changes:
        return changes_text(candidate)
    physics = setup.physics
    turned = _turned(physics.settings[physics.setting], physics.settings[candidate.setting])
    return ", ".join(turned) or "nothing: as it is"


def _turned(before: Mapping[str, int], after: Mapping[str, int]) -> Iterator[str]:
    for name, clicks in after.items():
        if clicks != before[name]:
            yield f"{name} {clicks} out"


def _remarks(setup: JobSetup, found: Reach) -> Iterator[str]:
    yield (
        "Shift: average change of the band's damping force, every other band of the job held to its own "
        "tolerance. Changed stacks are tried at the present clicks."
    )
    if words := further_left_out(found.left_out):
        yield words
    yield from unanswered_words(found.unanswered, settings=setup.physics.settings, old=setup.stack)
    if found.proven:
        return
    why = {
        Status.INTERRUPTED: "It was stopped",
        Status.BEST_SO_FAR: "The time limit ended it",
        None: "Not all was answered",
    }[found.stopped]
    yield f"{why}: ends that are not proven may lie further out."
