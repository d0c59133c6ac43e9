"""Between a job's files and the ledger: what is entered, and what the shelf really has free."""

from __future__ import annotations

from dataclasses import replace

from optimiser.files.job_reader import LoadedJob
from optimiser.files.mountings import stack_of
from optimiser.files.shelf import Shelf
from optimiser.ledger.connection import Ledger
from optimiser.ledger.jobs import JobRecord
from optimiser.ledger.levels import shelf_levels
from optimiser.model.stock import ShimKey


def job_record(loaded: LoadedJob) -> JobRecord:
    """What the ledger keeps of a job and of the files that it names."""
    rider, sections = loaded.rider, [stack for valve in loaded.damper.valve for stack in valve.stack]
    return JobRecord(
        name=loaded.path.stem,
        title=loaded.job.title,
        words=loaded.job.complaint.words or rider.words,
        rider=rider.name,
        rider_mass=rider.rider().mass,
        machine=loaded.bike.name,
        damper=loaded.damper.name,
        stacks={s.name: tuple(ShimKey.of(shim) for shim in stack_of(s).shims) for s in sections},
    )


def with_free_shelf(loaded: LoadedJob, ledger: Ledger) -> LoadedJob:
    """The same job, planned from what the ledger has free instead of from the shelf file."""
    levels = shelf_levels(ledger)
    rows = tuple(replace(level.row, count=level.free) for level in levels)
    return replace(loaded, shelf=Shelf(rows, tuple(range(2, len(rows) + 2))))
