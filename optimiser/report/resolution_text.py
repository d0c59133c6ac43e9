"""How fine a stack's steps are, as tables for the terminal."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from damping_model.units import MILLIMETRE
from optimiser.jobs.setup import JobSetup
from optimiser.model.band_result import mean_before
from optimiser.model.goal import Role
from optimiser.model.percent import percent_text
from optimiser.report.findings_text import print_findings
from optimiser.report.named_lines import NamedLine, named_lines
from optimiser.report.strokes import stroke_of
from optimiser.report.unit_system import UnitSystem
from optimiser.studies.refinement import Rung
from optimiser.studies.resolution import NEAR, BandSteps, Steps


def print_resolution(
    console: Console,
    setup: JobSetup,
    steps: Steps,
    ladder: Sequence[Rung],
    *,
    refused: Collection[int],
    advice: Sequence[str],
    units: UnitSystem,
) -> None:
    """Show what one change does, and how it falls with more shims.

    Parameters
    ----------
    console : where to.
    setup : the job.
    steps : what single changes do.
    ladder : the stack rebuilt, the coarsest first.
    refused : numbers of shims of rebuilds that a search would not list, as oil would boil inside a band.
    advice : how the steps lie beside what the job asks, in sentences.
    units : what velocities and lengths are written in.
    """
    console.print(Text(setup.job.title, style="bold"))
    console.print(f"{setup.job.damper.name}, {setup.mounted.name}, {len(setup.stack.shims)} shims")
    print_findings(console, setup.gate.findings, units=units)
    ended = "" if steps.complete else " Stopped before all were tried."
    console.print(f"\n{steps.changes} stacks lie one change away with this shelf.{ended}")
    console.print(_steps_table(steps.bands, units))
    console.print(
        "Held: every other band stays within its own tolerance. Gaps: between neighbouring held steps, "
        f"over {percent_text(-NEAR, 0)} to {percent_text(NEAR, 0)}."
    )
    if advice:
        console.print()
    for words in advice:
        console.print(Text(words, style="bold"))
    if ladder:
        console.print(ladder_table(ladder, steps.bands, units))
        elsewhere = elsewhere_words(setup)
        words = "One shim out: each shim that bends is taken out in turn; the median."
        console.print(f"{words} {elsewhere}")
        if high := [str(rung.shims) for rung in ladder if not rung.fits]:
            console.print(f"No room under the nut for the rebuilds of {', '.join(high)} shims.")
        if refused:
            counts = ", ".join(str(shims) for shims in refused)
            console.print(
                f"No plan lists the rebuilds of {counts} shims, since oil would boil inside a band or a shim "
                "be overstressed: their figures say how fine a stack is, and promise no force."
            )
        console.print(
            "Rebuilt for equal bending: n shims of thickness t/n^(1/3) bend like one of t. They stretch less "
            "easily, so the curve moves where the stack lifts far; thicknesses are computed, not sold ones."
        )


def elsewhere_words(setup: JobSetup) -> str:
    """Where the change that nobody asked for is looked for."""
    roles = {window.role for window in setup.asked.goal.windows}
    if Role.HOLD in roles:
        return "Elsewhere: the largest change over the held bands."
    if Role.FAMILIARITY in roles:
        return "Elsewhere: the largest change where the damper has to stay familiar; the job holds no band."
    return "Elsewhere: this job holds no band, so the largest change over its target is shown."


def _steps_table(bands: Sequence[BandSteps], units: UnitSystem) -> Table:
    return named_lines(
        [
            NamedLine(
                "",
                _band_words(band, units),
                (
                    str(len(band.steps)),
                    str(len(band.held)),
                    _fine(band.down, signed=True),
                    _fine(band.up, signed=True),
                    _fine(band.mean_gap),
                    _fine(band.widest_gap),
                ),
            )
            for band in bands
        ],
        title="Steps that one change makes, average shift of a band",
        heads=("Steps", "Held", "Smallest down", "Smallest up", "Mean gap", "Widest gap"),
    )


def _band_words(band: BandSteps, units: UnitSystem) -> str:
    window = band.window
    speeds = [abs(velocity) for velocity in window.velocities]
    span = units.span_text(min(speeds), max(speeds))
    force = f"{units.force_text(mean_before(window))} {units.force_unit} on average"
    return f"{window.name}: {window.role.value}, {stroke_of(window)}, {span}, {force}"


def ladder_table(ladder: Sequence[Rung], bands: Sequence[BandSteps], units: UnitSystem) -> Table:
    """How fine the stack gets with more shims, and what the rebuilds move; 80 characters are enough.

    Parameters
    ----------
    ladder : the stack rebuilt, the coarsest first.
    bands : of the job, in the order of a rung's figures.
    units : what lengths are written in.
    """
    table = Table(title="Rebuilt from fewer or more shims", box=SIMPLE_HEAD, pad_edge=False)
    for head in ("Shims", "Height", "Thinnest"):
        table.add_column(head, justify="right", no_wrap=True)
    targets = [band.window.role is Role.TARGET for band in bands]
    heads = ["One shim out\nelsewhere", "One shim out\ntarget", "Rebuild moves\ntarget"]
    heads += [] if all(targets) else ["Rebuild moves\nheld"]
    for head in heads:
        table.add_column(head, justify="right")
    for rung in ladder:
        table.add_row(
            f"{'now: ' if rung.as_it_is else ''}{rung.shims}",
            units.length_text(rung.stack.height),
            f"{rung.thinnest / MILLIMETRE:.3f} mm",
            _fine(rung.pull),
            _fine(_largest(rung.steps, targets, wanted=True)),
            _fine(_largest(rung.moved, targets, wanted=True)),
            *([] if all(targets) else [_fine(_largest(rung.moved, targets, wanted=False))]),
        )
    return table


def _largest(shares: Sequence[float], targets: Sequence[bool], *, wanted: bool) -> float:
    """The largest figure over the targets, or over the other bands."""
    kept = [share for share, target in zip(shares, targets, strict=True) if target is wanted]
    return max(kept, default=math.nan)


def _fine(share: float | None, *, signed: bool = False) -> str:
    """A share in percent with two decimals, which small steps need."""
    if share is None or math.isnan(share):
        return "none"
    return f"{100 * share:{'+' if signed else ''}.2f} %".replace("-", "\u2212")
