"""The basics of a job: what is checked before a damper is opened."""

from __future__ import annotations

from dataclasses import replace

from optimiser.errors import InputError
from optimiser.intake.basics import GateResult, check_basics
from optimiser.jobs.job import Job
from optimiser.jobs.noticed import noticed_in


def basics_of(job: Job, *, override_reason: str | None = None) -> GateResult:
    """The basics of a job.

    Parameters
    ----------
    job : the job.
    override_reason : why to go on although they are out of range; wins over the job's own.

    Raises
    ------
    InputError
        For a corner that the machine has not, or a sag longer than its travel.
    """
    basics = job.basics
    if override_reason is not None:
        basics = replace(basics, override_reason=override_reason)
    try:
        gate = check_basics(machine=job.machine, basics=basics, ranges=job.ranges)
    except InputError as error:
        raise InputError(f"{job.path}: basics: {error}") from None
    return replace(gate, findings=(*gate.findings, *noticed_in(job)))
