"""What the contests and growth runs amount to, as text for a terminal and as markdown."""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Sequence

from tests.benchmarks.rivals.contest import Contest
from tests.benchmarks.rivals.recorder import Mark, Record

Row = Sequence[str]

HEAD = ("method", "first answer, runs", "s", "best answer, runs", "s", "proof, runs", "s", "what it has")


def rows(contest: Contest) -> list[Row]:
    """One row for each method."""
    return [_row(contest, entry) for entry in contest.entries]


def sentences(contest: Contest) -> list[str]:
    """Where another method asked the physics less often than ours did, and what was wrong if anything was."""
    ours, said = contest.entries[0], []
    moments: tuple[tuple[str, Callable[[Record], Mark | None]], ...] = (
        ("the first valid answer", lambda one: one.first),
        ("the best answer", lambda one: one.reached(contest.best)),
        ("the proof", lambda one: one.proof),
    )
    for what, moment in moments:
        own = _median(ours, moment, _runs)
        for entry in contest.entries[1:]:
            other = _median(entry, moment, _runs)
            if other < own and not entry[0].method.startswith(ours[0].method):
                mine = f"{own:,.0f}" if math.isfinite(own) else f"more than {ours[0].end.runs:,}"
                said.append(
                    f"To {what}, {entry[0].method} needs fewer runs than ours: {other:,.0f} against {mine}."
                )
    return said + [f"FAULT: {fault}" for fault in contest.faults]


def as_text(head: Row, body: Sequence[Row]) -> str:
    """Columns of equal width, the first to the left."""
    widths = [max(len(row[k]) for row in (head, *body)) for k in range(len(head))]
    return "\n".join(
        "  ".join(
            cell.ljust(width) if k == 0 else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        )
        for row in (head, *body)
    )


def as_markdown(head: Row, body: Sequence[Row]) -> str:
    """A table for a page."""
    rule = ["---", *["---:"] * (len(head) - 1)]
    return "\n".join("| " + " | ".join(row) + " |" for row in (head, rule, *body))


def _row(contest: Contest, entry: tuple[Record, ...]) -> Row:
    cells = [entry[0].method if len(entry) == 1 else f"{entry[0].method}, median of {len(entry)} seeds"]
    none = contest.impossible and all(one.proof is not None for one in entry)
    for moment in (lambda one: one.first, lambda one: one.reached(contest.best)):
        cells += ["none", "none"] if none else _cells(entry, moment)
    cells += _cells(entry, lambda one: one.proof) if entry[0].proves else ["never", "never"]
    return [*cells, _outcome(contest, entry)]


def _cells(entry: tuple[Record, ...], moment: Callable[[Record], Mark | None]) -> list[str]:
    """Median of runs and of seconds; where it was not reached, what had been spent."""
    runs, seconds = _median(entry, moment, _runs), _median(entry, moment, _seconds)
    if math.isfinite(runs):
        return [f"{runs:,.0f}", time_text(seconds)]
    spent = [one.end for one in entry if moment(one) is None]
    return [
        f"> {statistics.median(mark.runs for mark in spent):,.0f}",
        f"> {time_text(statistics.median(mark.seconds for mark in spent))}",
    ]


def _outcome(contest: Contest, entry: tuple[Record, ...]) -> str:
    if contest.best is None:
        proven = all(one.proof is not None for one in entry)
        return "proof that there is none" if proven else _why(entry)
    count = sum(one.reached(contest.best) is not None for one in entry)
    some = [one.best for one in entry if one.best is not None]
    seeds = "" if len(entry) == 1 else f" with {count} of {len(entry)} seeds"
    if count:
        return f"the best{seeds}"
    if not some:
        return _why(entry)
    changes, error = min(some)
    return f"{changes} change{'s' if changes > 1 else ''}, {error:.2%} miss, {_why(entry)}"


def _why(entry: tuple[Record, ...]) -> str:
    return "gave up" if all(one.ended == "gave up" for one in entry) else "budget spent"


def _median(
    entry: tuple[Record, ...], moment: Callable[[Record], Mark | None], part: Callable[[Mark], float]
) -> float:
    marks = [moment(one) for one in entry]
    return statistics.median_low([math.inf if mark is None else part(mark) for mark in marks])


def _runs(mark: Mark) -> float:
    return float(mark.runs)


def _seconds(mark: Mark) -> float:
    return mark.seconds


def time_text(seconds: float) -> str:
    """Seconds with as many figures as mean something. [s]"""
    return f"{seconds:.2f}" if seconds < 10 else f"{seconds:.0f}"
