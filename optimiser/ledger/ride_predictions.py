"""How far predictions of rides were off what was logged: the shop's own record of its simulations."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Sequence
from dataclasses import dataclass

from optimiser.ledger.connection import Ledger
from optimiser.ledger.jobs import job_number
from optimiser.ledger.read_back import as_written
from optimiser.ride_log.prediction_error import PredictionError


@dataclass(frozen=True, slots=True)
class RecordedRide:
    """A ride that was predicted and logged.

    Parameters
    ----------
    job : its name.
    at : when it was written down, UTC.
    wheels : how far the prediction was off.
    """

    job: str
    at: str
    wheels: tuple[PredictionError, ...]


def record_ride(ledger: Ledger, job: str, wheels: Sequence[PredictionError], *, files: str) -> None:
    """Write down how far a prediction was off.

    Parameters
    ----------
    ledger : the shop's ledger.
    job : whose ride it was.
    wheels : what was found.
    files : the fingerprint of log and prediction; of the same two the latest counts.
    """
    with ledger.atomic() as connection:
        connection.execute(
            "INSERT INTO ride_prediction (job_id, at, files, wheels) VALUES (?, ?, ?, ?)",
            (
                job_number(connection, job),
                ledger.clock(),
                files,
                json.dumps([dataclasses.asdict(one) for one in wheels]),
            ),
        )


def recorded_rides(ledger: Ledger) -> tuple[RecordedRide, ...]:
    """Every ride that was recorded, in order; of those from the same files the latest."""
    with ledger.reading() as connection:
        rows = connection.execute(
            "SELECT job.name AS job, ride_prediction.at, wheels FROM ride_prediction "
            "JOIN job ON job.id = job_id WHERE ride_prediction.id IN "
            "(SELECT max(id) FROM ride_prediction GROUP BY job_id, files) ORDER BY ride_prediction.id"
        ).fetchall()
    return tuple(RecordedRide(row["job"], row["at"], _wheels(row["wheels"])) for row in rows)


def _wheels(text: str) -> tuple[PredictionError, ...]:
    with as_written("a ride"):
        return tuple(PredictionError(**one) for one in json.loads(text))
