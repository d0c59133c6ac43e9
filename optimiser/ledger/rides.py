"""What this shop tried for a symptom, and what the rider said after the ride."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal, get_args

from optimiser.intake.own_record import StepTaken
from optimiser.ledger.connection import Ledger
from optimiser.ledger.read_back import as_written

Verdict = Literal["better", "same", "worse"]

_RIDDEN: Final = """
    SELECT job.name AS job, plan.document, build.pick, outcome.words
    FROM build JOIN plan ON plan.id = build.plan_id JOIN job ON job.id = build.job_id
    JOIN outcome ON outcome.job_id = build.job_id
    WHERE build.id IN (SELECT max(id) FROM build WHERE state = 'done' GROUP BY job_id)
    AND outcome.id IN (SELECT max(id) FROM outcome GROUP BY job_id)
    AND outcome.at >= (SELECT max(at) FROM operation WHERE build_id = build.id AND kind = 'done')
    ORDER BY outcome.id
"""

_SAID_OF: Final = """
    SELECT job.name AS job, outcome.words FROM operation JOIN job ON job.id = operation.job_id
    JOIN outcome ON outcome.job_id = job.id AND outcome.at >= operation.at
    WHERE operation.id = ? AND operation.kind = 'done' ORDER BY outcome.id DESC LIMIT 1
"""


@dataclass(frozen=True, slots=True)
class Ride:
    """A build that was ridden.

    Parameters
    ----------
    job : its name.
    band : the target; one planned from a symptom bears the symptom's name.
    shift : how far the build moved it, on average, as a share of the force before. [-]
    words : the last word on the job.
    """

    job: str
    band: str
    shift: float
    words: str


def rides(ledger: Ledger) -> tuple[Ride, ...]:
    """The last build of every job that is done, with the last word on it, in order of that word."""
    with ledger.reading() as connection:
        rows = connection.execute(_RIDDEN).fetchall()
    return tuple(
        Ride(row["job"], band, shift, row["words"])
        for row in rows
        for band, shift in _moved(row["document"], row["pick"])
    )


def no_longer_counts(ledger: Ledger, step: int) -> str | None:
    """What becomes of the words on a ride once its build is undone, in a sentence; None where there are none.

    Parameters
    ----------
    ledger : the shop's ledger.
    step : that was taken back.
    """
    with ledger.reading() as connection:
        row = connection.execute(_SAID_OF, (step,)).fetchone()
    if row is None:
        return None
    return (
        f"'{row['words']}' stays written under {row['job']}, and no longer counts: it was said of a "
        "ride before this undo."
    )


def steps_ridden(ledger: Ledger) -> tuple[StepTaken, ...]:
    """The rides whose last word begins with a verdict: better, same or worse."""
    return tuple(
        StepTaken(ride.band, ride.shift, verdict)
        for ride in rides(ledger)
        if (verdict := verdict_of(ride.words)) is not None
    )


def verdict_of(words: str) -> Verdict | None:
    """The verdict that an outcome begins with; None when it begins with something else."""
    first = words.split(maxsplit=1)[0].strip(".,;:!").lower() if words.split() else ""
    return next((verdict for verdict in get_args(Verdict) if verdict == first), None)


def _moved(document: str, pick: int) -> Iterator[tuple[str, float]]:
    """Target bands and how far they moved; none from a plan whose rider was erased."""
    with as_written("a plan"):
        for candidate in json.loads(document).get("candidates", ()):
            if candidate["rank"] != pick:
                continue
            for band in candidate["bands"]:
                if band["role"] == "target":
                    changes = band["change_percent"]
                    yield band["name"], sum(changes) / len(changes) / 100
