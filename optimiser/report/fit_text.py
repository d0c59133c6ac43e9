"""A fit in the terminal: whether it holds, what each figure came to, what the runs do not tell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from damping_model.units import celsius
from optimiser.fit.fit import Fit
from optimiser.fit.next_run import PossibleRun, RunAdvice
from optimiser.fit.profile import Estimate, FigureLabel
from optimiser.fit.verdict import FitVerdict
from optimiser.report.console import in_colour, print_drawing
from optimiser.report.dyno_drawing import dyno_drawing
from optimiser.report.in_units import in_units
from optimiser.report.sheet import CurveLine
from optimiser.report.unit_system import UnitSystem
from optimiser.unknowns.moved_words import moved_by

LITTLE: Final = 0.93
"""A run that leaves more than this share of the spread tells little. [-]"""

MOST_PAIRS: Final = 3
"""Pairs of figures that are named as told only together."""


def print_fit(
    console: Console, fit: Fit, *, lines: Sequence[CurveLine], notes: Sequence[str], units: UnitSystem
) -> None:
    """Print a fit.

    Parameters
    ----------
    console : where to.
    fit : the fit.
    lines : curves of the fitted damper, drawn below the points.
    notes : of the runs' files.
    units : what people read.
    """
    runs = [stretch.run for stretch in fit.sample.stretches]
    for note in notes:
        console.print(Text(in_units(note, units)))
    points = fit.sample.velocities.size
    console.print(Text(f"{fit.damper}: {points} points of {_counted(len(runs), 'run')}"))
    for left in fit.sample.left_out:
        console.print(Text(f"  Left out: {_counted(left.points, 'point')} of {left.run}, since {left.why}."))
    print_drawing(
        console,
        dyno_drawing(runs, lines, units=units, width=min(console.width, 100), colour=in_colour(console)),
    )
    console.print()
    for words in verdict_words(fit.verdict, fit.missed, units):
        console.print(Text(words))
    console.print(_misses(fit))
    console.print(_figures(fit))
    for words in told_words(fit):
        console.print(Text(words))


def words_against(verdict: FitVerdict, units: UnitSystem) -> str:
    """What speaks against a fit, in a sentence or two; empty when nothing does."""
    told = []
    if verdict.scattered:
        told.append(
            f"The fit does not hold: points lie {verdict.widened:.1f} times as far off as a run lies from "
            "the same run again. Look for runs at other clicks, oil or gas than their file says."
        )
    if verdict.one_sided_stretches:
        told.append(
            "The fit does not hold: over whole stretches of speed the points lie to one side of the curve, "
            "as where a port, a stack or a check is not what the damper's file says."
        )
    if verdict.bends:
        velocity, size = verdict.misses
        stroke = "compression" if velocity > 0 else "rebound"
        told.append(
            f"The fit does not hold: about {units.velocity_text(velocity)} {units.velocity_unit} in {stroke} "
            f"the damper gives {100 * abs(size):.0f} % {'more' if size > 0 else 'less'} than any figures of "
            "its file can. Look at what works there."
        )
    return " ".join(told)


def verdict_words(verdict: FitVerdict, missed: float, units: UnitSystem) -> Iterator[str]:
    """Whether a fit holds, and what its intervals were widened by."""
    against = words_against(verdict, units)
    if against:
        yield against
    else:
        yield f"The fit holds: with these figures the model meets measured forces to {100 * missed:.1f} %."
    if verdict.widened > 1.05:
        yield f"Points lie farther off than runs do: errors are taken {verdict.widened:.2f} times as large."


def told_words(fit: Fit) -> Iterator[str]:
    """What the runs tell only in part, only together, or not at all."""
    for pair in fit.together()[:MOST_PAIRS]:
        first, second = (fit.estimates[place].unknown.words for place in (pair.first, pair.second))
        way = "one up and the other down" if pair.correlation < 0 else "both up or both down"
        yield (
            f"The runs cannot tell {first} from {second}: {way} together does the same to every point "
            f"(correlation {pair.correlation:+.2f}). Measure one of them, and the other is told."
        )
    flat = [estimate.unknown.words for estimate in fit.labelled(FigureLabel.FLAT)]
    if flat:
        stay = "it stays" if len(flat) == 1 else "they stay"
        yield f"Not told by these runs: {', '.join(flat)}; {stay} as written."
    yield (
        "Plans use these figures. Shims keep the names that the shelf has for them, and those in the damper "
        "count as thick as the runs tell; what they tell of the steel goes into the other figures there."
    )


def _misses(fit: Fit) -> Table:
    table = Table(title="How far the computed force is off, in percent", box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("band")
    for head in ("points", "as written", "fitted", "as plans use it"):
        table.add_column(head, justify="right")
    for miss in fit.misses():
        stroke = "compression" if miss.sign > 0 else "rebound"
        cells = [f"{100 * share:.1f}" for share in (miss.typed, miss.fitted, miss.plan)]
        table.add_row(Text(f"{miss.band}, {stroke}"), str(miss.points), *cells)
    return table


def _figures(fit: Fit) -> Table:
    table = Table(
        title="Figures, by how much they differ from the damper's file", box=SIMPLE_HEAD, pad_edge=False
    )
    table.add_column("figure")
    for head in ("differs by", "19 times in 20 between", "runs tell it"):
        table.add_column(head, justify="right")
    order = (FigureLabel.IDENTIFIED, FigureLabel.ONE_SIDED)
    for label in order:
        for estimate in fit.labelled(label):
            table.add_row(*map(Text, _row(estimate)))
    return table


def _row(estimate: Estimate) -> tuple[str, str, str, str]:
    unknown = estimate.unknown
    low, high = (moved_by(unknown, draw) for draw in (estimate.low, estimate.high))
    told = {FigureLabel.IDENTIFIED: "yes", FigureLabel.ONE_SIDED: "from one side", FigureLabel.FLAT: "no"}
    return unknown.words, moved_by(unknown, estimate.draw), f"{low} and {high}", told[estimate.label]


def print_advice(console: Console, advice: RunAdvice, target: str, *, units: UnitSystem) -> None:
    """Print which run to make next."""
    best = advice.best
    stroke = "compression" if best.stroke > 0 else "rebound"
    now, then = 196 * best.before, 196 * best.after
    if best.after > LITTLE * best.before:
        words = (
            f"No single run tells much more about the change of '{target}', which is known to ±{now:.2g} "
            f"points (19 times in 20). The best would be {run_words(best.run, units)}: ±{then:.3g}."
        )
    else:
        words = (
            f"Run next: {run_words(best.run, units)}. It tells most about the change of '{target}': "
            f"±{now:.2g} points now (19 times in 20), ±{then:.2g} after it; {stroke} tells most of that."
        )
    console.print(Text(words))
    console.print(
        Text(
            f"And one to check by: {run_words(advice.check, units)}, where the force is known least "
            f"(±{196 * advice.check_spread:.2g} %). If it lies farther off, the model is wrong somewhere."
        )
    )


def run_words(run: PossibleRun, units: UnitSystem) -> str:
    """A run in words."""
    clicks = "".join(f", {name} {position} out" for name, position in run.clicks)
    warmth = in_units(f"{celsius(kelvin=run.temperature):.0f} °C", units)
    return f"{units.velocity_text(run.speed)} {units.velocity_unit}{clicks}, at {warmth}"


def kept_words(place: Path | None, damper: Path, *, asked: bool) -> str:
    """Where a fit was written, why it was not although that was asked, or how to write it."""
    if place is None and asked:
        return "Not kept, since it does not hold. To let plans use it all the same, add --even-so."
    if place is None:
        return f"Nothing is written. To let plans use it, add --write; {damper} itself never changes."
    return f"Kept: {place}. Plans use it from now on; to take it back: shimwright fit {damper} --forget"


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
