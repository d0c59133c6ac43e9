"""Rows of jobs in words as the page docs/model/jobs-in-words.md, and its sums in a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from tests.benchmarks.words.rows import AnsweredJob, Ending
from tests.helpers.paths import ROOT

PAGE: Final = ROOT / "docs" / "model" / "jobs-in-words.md"

HEAD: Final = """# Jobs in plain words

What becomes of a job that says no more than what the rider says? Every row of
[the table of symptoms](../how-to/from-words-to-velocities.md) is asked of every damper that it fits: the stiff shop's four, two that
a newcomer wrote (`sxs`, `fork`), and three of other kinds written as a newcomer would, from calipers and a list of parts
(`tests/data/newcomers/`): `knapweed`, a shock of one tube without a reservoir; `teasel`, a shock of two tubes; `celandine`, a closed fork
cartridge. A job names rider, bike, damper, shelf, the symptom, and the stack of its stroke. Nothing else is given.

```sh
python -m tests.benchmarks.bench_words --write
```

writes this page. The search of each job gets {limit:g} s on one core; seconds are of processor time, from the files to the answer, which other work on the
machine does not stretch; on two free cores a long search is done sooner. Measured {when}. {beside}
"""

TABLE: Final = ("damper", "symptom", "least effort", "target, average (range)", "verdict", "proven", "s")


def sums(rows: Sequence[AnsweredJob]) -> str:
    """How many were met, by what, in a sentence or two."""
    count = {verdict: sum(row.verdict is verdict for row in rows) for verdict in Ending}
    answered = count[Ending.MET] + count[Ending.AT_THE_EDGE] + count[Ending.NEAR_ENOUGH]
    clicks = sum(row.by_clicks for row in rows)
    return (
        f"{len(rows)} jobs: {count[Ending.MET]} met, {count[Ending.AT_THE_EDGE]} at the edge (missed by less than the "
        f"model is accurate), {count[Ending.NEAR_ENOUGH]} near enough (missed by less than a rider feels), "
        f"{count[Ending.NOT_MET]} not met, {count[Ending.REFUSED]} refused. Of the {answered} that were answered "
        f"{clicks} take clicks alone. The longest took {max(row.seconds for row in rows):.0f} s."
    )


def page(rows: Sequence[AnsweredJob], *, time_limit: float, when: str, beside: str) -> str:
    """The text of the page.

    Parameters
    ----------
    rows : of every job.
    time_limit : that each search was given. [s]
    when : day and machine.
    beside : what else ran on the machine, in a sentence.
    """
    lines = [HEAD.format(limit=time_limit, when=when, beside=beside), sums(rows), ""]
    lines += ["| " + " | ".join(TABLE) + " |", "|" + " --- |" * (len(TABLE) - 1) + " ---: |"]
    lines += ["| " + " | ".join(_cells(row)) + " |" for row in rows]
    rest = [row for row in rows if row.in_the_way]
    if rest:
        lines += ["", "## What stands in the way", ""]
        lines += [
            f"- **{row.damper}, {row.symptom}** ({row.verdict.value}): {row.in_the_way}." for row in rest
        ]
    return "\n".join(lines) + "\n"


def line(row: AnsweredJob) -> str:
    """A row for the terminal."""
    cells = _cells(row)
    widths = (14, 29, 34, 24, 12, 7, 4)
    said = "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True))
    return f"{said}  {row.in_the_way}".rstrip()


def _cells(row: AnsweredJob) -> tuple[str, ...]:
    return (
        row.damper,
        row.symptom,
        row.effort,
        row.target,
        row.verdict.value,
        "yes" if row.proven else "no",
        f"{row.seconds:.0f}" if row.seconds >= 1 else f"{row.seconds:.1f}",
    )
