"""Candidates for the terminal: different ways to a goal in order, with what each changes and where."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from optimiser.model.answer import Answer, Candidate, Change
from optimiser.model.edits import in_place
from optimiser.model.percent import share_text
from optimiser.model.stock import ShimKey
from optimiser.report.steps import hole_of, ordinal, shim_text
from optimiser.report.unit_system import UnitSystem


def candidates_table(
    answer: Answer, *, units: UnitSystem, notes: Callable[[Candidate], Iterable[str]] | None = None
) -> Table:
    """Different ways to the goal, best first, or the nearest stack when none meets it.

    Parameters
    ----------
    answer : what was found.
    units : what heights are written in.
    notes : lines to stand below a candidate's changes.
    """
    nearest = None if answer.candidates else answer.nearest
    title = "Nearest; it does not reach the goal" if nearest else "Different ways, best first"
    table = Table(title=title, box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("#", justify="right")
    table.add_column("Changes, counted from the piston", ratio=1)
    for name in ("Miss", "Elsewhere", "Aimed", "Height"):
        table.add_column(name, justify="right", no_wrap=True)
    for rank, candidate in enumerate(answer.candidates or filter(None, (nearest,)), 1):
        below = [*(notes(candidate) if notes else ()), "; ".join(candidate.best_at)]
        table.add_row(
            "-" if nearest else str(rank),
            Text("\n".join([changes_text(candidate), *filter(None, below)])),
            share_text(candidate.target_error, 1),
            share_text(candidate.change_elsewhere, 1),
            aimed_text(candidate.aimed),
            units.length_text(candidate.stack.height),
        )
    return table


def aimed_text(aimed: float | None) -> str:
    """Change on target over the largest change elsewhere: ``4.2 : 1``."""
    return "-" if aimed is None else f"{aimed:.1f} : 1" if aimed < 10 else f"{aimed:.0f} : 1"


def changes_text(candidate: Candidate) -> str:
    """What a candidate changes, in a line: ``17x0.20 to 17x0.25 (6th), out 14x0.20 (9th)``.

    Places count from the piston, of what leaves in the old stack, of what comes in the new one.
    """
    if not candidate.number_of_changes:
        return "adjusters only"
    own = steps_text(candidate.changes, hole=hole_of(candidate.stack))
    if own and candidate.place:
        own = f"in the {candidate.place}: {own}"
    others = (
        f"in the {one.name}: {steps_text(one.changes, hole=hole_of(one.stack))}" for one in candidate.others
    )
    return "; ".join(filter(None, (own, *others)))


def steps_text(changes: Sequence[Change], *, hole: int) -> str:
    """The same of any changes; ``hole`` of the shaft. [um]"""

    def named(key: ShimKey | None, after: int | None) -> str:
        return "" if key is None or after is None else f"{shim_text(key, hole=hole)} ({ordinal(after + 1)})"

    words = []
    for change in changes:
        out, put_in = named(change.out, change.out_after), named(change.put_in, change.in_after)
        if change.out is not None and change.out == change.put_in:
            words.append(f"move {out.removesuffix(')')} to {put_in.partition('(')[2]}")
        elif change.out is not None and change.put_in is not None and in_place(change, changes):
            words.append(f"{shim_text(change.out, hole=hole)} to {put_in}")
        else:
            words += [f"out {out}"] if out else []
            words += [f"in {put_in}"] if put_in else []
    return ", ".join(words)
