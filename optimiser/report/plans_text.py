"""Many planned jobs for the terminal: one line each, then what is wrong with those that have no answer."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from optimiser.jobs.job_answer import JobAnswer

WITHOUT_ANSWER: Final = ("input cannot be used", "broken off", "not planned")


def print_plans(console: Console, answers: Sequence[JobAnswer], *, seconds: float) -> None:
    """Show what became of every job.

    Parameters
    ----------
    console : where to.
    answers : one a job, in order.
    seconds : what the whole run took, on the clock. [s]
    """
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Job", ratio=3)
    table.add_column("Outcome", ratio=2)
    table.add_column("Changes", justify="right", no_wrap=True)
    table.add_column("Proven", no_wrap=True)
    table.add_column("Took", justify="right", no_wrap=True)
    table.add_column("Sheet", no_wrap=True)
    for answer in answers:
        table.add_row(
            Text(answer.title),
            outcome_text(answer),
            "-" if answer.number_of_changes is None else str(answer.number_of_changes),
            {True: "yes", False: "no", None: "-"}[answer.proven],
            f"{answer.seconds:.0f} s",
            "-" if answer.sheet is None else Text(Path(answer.sheet).name),
        )
    console.print(table)
    for answer in answers:
        if answer.outcome in WITHOUT_ANSWER:
            console.print(Text(answer.said))
        elif answer.outcome == "basics first":
            console.print(Text(f"{answer.job}: {answer.said}"))
    count = f"{len(answers)} {'job' if len(answers) == 1 else 'jobs'}"
    console.print(Text(f"{count} in {seconds:.0f} s. Sheets and answers lie beside the job files."))


def outcome_text(answer: JobAnswer) -> str:
    """What became of a job, in words that say when it was cut short."""
    cut_short = answer.status == "interrupted" and answer.outcome != "not planned"
    return f"{answer.outcome}, interrupted" if cut_short else answer.outcome
