"""What a dyno measured of builds, beside what was promised: the shop's own record of its predictions."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimiser.ledger.connection import Ledger
from optimiser.ledger.read_back import as_written
from optimiser.model.band_outcome import BandOutcome
from optimiser.model.goal import Role

_LATEST: Final = """
    SELECT job.name AS job, damper.name AS damper, measurement.at, bands FROM measurement
    JOIN build ON build.id = build_id JOIN job ON job.id = build.job_id
    JOIN damper ON damper.id = build.damper_id
    WHERE measurement.id IN (SELECT max(id) FROM measurement GROUP BY build_id) AND build.state = 'done'
    ORDER BY measurement.id
"""


@dataclass(frozen=True, slots=True)
class MeasuredBuild:
    """A build that was measured.

    Parameters
    ----------
    job, damper : their names.
    at : when it was written down, UTC.
    bands : what was promised and measured of each.
    """

    job: str
    damper: str
    at: str
    bands: tuple[BandOutcome, ...]


def record_measurement(
    ledger: Ledger, build: int, bands: Sequence[BandOutcome], *, runs: str
) -> tuple[BandOutcome, ...]:
    """Write down what a dyno measured of a build, in place of what stood there; what stood there.

    Parameters
    ----------
    ledger : the shop's ledger.
    build : its number.
    bands : what was measured; none to forget what stood there.
    runs : the fingerprint of the runs' files.
    """
    with ledger.atomic() as connection:
        before = connection.execute(
            "SELECT bands FROM measurement WHERE build_id = ? ORDER BY id DESC LIMIT 1", (build,)
        ).fetchone()
        connection.execute(
            "INSERT INTO measurement (build_id, at, runs, bands) VALUES (?, ?, ?, ?)",
            (build, ledger.clock(), runs, json.dumps([_document(one) for one in bands])),
        )
    return () if before is None else _bands(before["bands"])


def measured_builds(ledger: Ledger) -> tuple[MeasuredBuild, ...]:
    """Every build that is done and was measured, in the order in which it was written down."""
    with ledger.reading() as connection:
        rows = connection.execute(_LATEST).fetchall()
    found = (MeasuredBuild(row["job"], row["damper"], row["at"], _bands(row["bands"])) for row in rows)
    return tuple(one for one in found if one.bands)


def _document(band: BandOutcome) -> dict[str, object]:
    return dataclasses.asdict(band) | {"role": band.role.value}


def _bands(text: str) -> tuple[BandOutcome, ...]:
    with as_written("a measurement"):
        return tuple(BandOutcome(**(band | {"role": Role(band["role"])})) for band in json.loads(text))
