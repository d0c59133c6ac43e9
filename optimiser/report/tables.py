"""Tables for the terminal: candidates in order, steps, adjusters."""

from __future__ import annotations

from collections.abc import Sequence

from rich.box import SIMPLE_HEAD
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from optimiser.model.answer import Answer, Candidate
from optimiser.report.sheet import AdjusterMove
from optimiser.report.steps import Step, hole_of, steps
from optimiser.report.unit_system import UnitSystem, percent_text


def candidates_table(answer: Answer, *, units: UnitSystem) -> Table:
    """Candidates of an answer, best first, or the nearest one when none meets the goal.

    Parameters
    ----------
    answer : what the search returned.
    units : what heights are written in.
    """
    nearest = not answer.candidates and answer.nearest is not None
    title = "Nearest; it does not reach the goal" if nearest else "Candidates, best first"
    table = Table(title=title, box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("#", justify="right")
    table.add_column("Changes", ratio=3)
    table.add_column("Off target", justify="right", no_wrap=True)
    table.add_column("Spill", justify="right", no_wrap=True)
    table.add_column("Height", justify="right", no_wrap=True)
    table.add_column("Scarcest", justify="right", no_wrap=True)
    table.add_column("Best at", ratio=2)
    shown = answer.candidates or ((answer.nearest,) if answer.nearest is not None else ())
    for rank, candidate in enumerate(shown, 1):
        table.add_row(
            "-" if nearest else str(rank),
            Text(changes_text(candidate)),
            percent_text(candidate.target_error, signed=False),
            percent_text(candidate.spill, signed=False),
            units.length_text(candidate.stack.height),
            percent_text(candidate.scarcity, signed=False),
            Text("; ".join(candidate.best_at) or "-"),
        )
    return table


def changes_text(candidate: Candidate) -> str:
    """What a candidate changes, in a line: ``17x0.20 to 17x0.25, out 14x0.20, in 10x0.10``."""
    if not candidate.changes:
        return "adjusters only"
    words = []
    for step in steps(candidate.changes, hole=hole_of(candidate.stack)):
        if step.take_out and step.take_out == step.put_in:
            words.append(f"move {step.take_out}")
        elif step.take_out and step.put_in:
            words.append(f"{step.take_out} to {step.put_in}")
        else:
            words.append(f"out {step.take_out}" if step.take_out else f"in {step.put_in}")
    return ", ".join(words)


def steps_table(todo: Sequence[Step]) -> Table:
    """What to do with the stack, in order."""
    table = Table(title="Steps", box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("#", justify="right")
    for name in ("Out", "In", "Where"):
        table.add_column(name)
    for number, step in enumerate(todo, 1):
        table.add_row(str(number), step.take_out or "-", step.put_in or "-", step.where)
    return table


def adjusters_table(adjusters: Sequence[AdjusterMove]) -> Table:
    """Adjusters before and after, in clicks out from fully closed."""
    table = Table(title="Adjusters, clicks out from fully closed", box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Adjuster")
    table.add_column("Before", justify="right")
    table.add_column("After", justify="right")
    table.add_column("Do")
    for adjuster in adjusters:
        table.add_row(
            escape(adjuster.name),
            str(adjuster.before),
            f"{adjuster.after} of {adjuster.most}",
            adjuster.instruction,
        )
    return table
