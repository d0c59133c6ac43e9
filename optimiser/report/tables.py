"""Tables for the terminal: steps, adjusters."""

from __future__ import annotations

from collections.abc import Sequence

from rich.box import SIMPLE_HEAD
from rich.table import Table

from optimiser.report.sheet import AdjusterMove
from optimiser.report.steps import Step


def steps_table(todo: Sequence[Step], *, name: str = "") -> Table:
    """What to do with the stack, in order; with its name where there is more than one."""
    table = Table(title=f"Steps: {name}" if name else "Steps", box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("#", justify="right")
    for column in ("Out", "In", "Where"):
        table.add_column(column)
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
            adjuster.name,
            str(adjuster.before),
            f"{adjuster.after} of {adjuster.most}",
            adjuster.instruction,
        )
    return table
