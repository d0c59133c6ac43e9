"""A job with one band asked otherwise, more changes allowed, or another stack open."""

from __future__ import annotations

from dataclasses import replace

from optimiser.errors import InputError
from optimiser.intake.adjusted import Adjusted
from optimiser.jobs.job import Job
from optimiser.jobs.variant import Variant


def varied(job: Job, variant: Variant) -> Job:
    """A variant of a job.

    Raises
    ------
    InputError
        When bands are to be asked otherwise and the job asks for none: a known feel is carried over.
    """
    if job.known_feel is not None and (variant.tolerances or variant.shifts):
        option = "--hold" if variant.tolerances else "--ask"
        raise InputError(
            f"{option}: got it for {job.path}, which carries a known feel over, expected a job with bands "
            "of its own. Change the tolerances under [[carry.band]] in its file."
        )
    work = job.work
    return replace(
        job,
        variant=variant,
        stock=job.stock.in_hand() if variant.measured else job.stock,
        asked=replace(job.asked, adjusted=Adjusted(variant.tolerances, variant.shifts)),
        work=replace(
            work,
            most_changes=work.most_changes if variant.most_changes is None else variant.most_changes,
            stack=variant.stack or work.stack,
        ),
    )
