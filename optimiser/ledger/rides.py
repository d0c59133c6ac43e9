"""What this shop tried for a symptom, and what the rider said after the ride."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Final, Literal

from optimiser.intake.own_record import StepTaken
from optimiser.ledger.connection import Ledger

_RIDDEN: Final = """
    SELECT plan.document, build.pick, outcome.words
    FROM build JOIN plan ON plan.id = build.plan_id JOIN outcome ON outcome.job_id = build.job_id
    WHERE build.id IN (SELECT max(id) FROM build WHERE state = 'done' GROUP BY job_id)
    AND outcome.id IN (SELECT max(id) FROM outcome GROUP BY job_id)
    ORDER BY outcome.id
"""


def steps_ridden(ledger: Ledger) -> tuple[StepTaken, ...]:
    """The last build of every job that is done, with the last word on it, where that begins with a verdict.

    A verdict is the first word of an outcome: better, same or worse. The step is how far the build moved the
    target band, on average; a target planned from a symptom bears the symptom's name.
    """
    with ledger.reading() as connection:
        rows = connection.execute(_RIDDEN).fetchall()
    return tuple(
        step
        for row in rows
        if (verdict := verdict_of(row["words"])) is not None
        for step in _steps(row["document"], row["pick"], verdict)
    )


def verdict_of(words: str) -> Literal["better", "same", "worse"] | None:
    """The verdict that an outcome begins with; None when it begins with something else."""
    first = words.split(maxsplit=1)[0].strip(".,;:!").lower() if words.split() else ""
    for verdict in ("better", "same", "worse"):
        if first == verdict:
            return verdict
    return None


def _steps(
    document: str, pick: int, verdict: Literal["better", "same", "worse"]
) -> Iterator[StepTaken]:
    """One step a target band; none from a plan whose rider was erased."""
    for candidate in json.loads(document).get("candidates", ()):
        if candidate["rank"] != pick:
            continue
        for band in candidate["bands"]:
            if band["role"] == "target":
                changes = band["change_percent"]
                yield StepTaken(band["name"], sum(changes) / len(changes) / 100, verdict)
