"""Between a job and the ledger: what is entered, and what the shelf really has free."""

from __future__ import annotations

from dataclasses import replace

from optimiser.jobs.job import Job
from optimiser.ledger.connection import Ledger
from optimiser.ledger.jobs import JobRecord
from optimiser.ledger.levels import shelf_levels
from optimiser.model.stock import ShimKey, Stock


def job_record(job: Job) -> JobRecord:
    """What the ledger keeps of a job."""
    return JobRecord(
        name=job.path.stem,
        title=job.title,
        words=job.words,
        rider=job.rider.name,
        rider_mass=job.rider.mass,
        machine=job.machine.name,
        damper=job.damper.name,
        stacks={
            mounted.name: tuple(ShimKey.of(shim) for shim in mounted.stack.shims)
            for mounted in job.damper.stacks
        },
    )


def with_free_shelf(job: Job, ledger: Ledger) -> Job:
    """The same job, planned from what the ledger has free instead of from the shelf file."""
    return replace(job, stock=Stock({level.row.key: level.free for level in shelf_levels(ledger)}))
