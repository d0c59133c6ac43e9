"""A job that leaves several stacks of its damper open, set up for a search."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from optimiser.intake.basics import GateResult
from optimiser.intake.own_record import StepTaken
from optimiser.jobs.job import Job
from optimiser.jobs.job_basics import basics_of
from optimiser.jobs.setup import JobSetup, set_up, shares_of
from optimiser.model.goal import Role
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.other_parts import opened_for
from optimiser.model.rank import role_mask
from optimiser.model.whole_physics import FURTHER, DamperAsked, damper_problem


def opens_all(job: Job) -> bool:
    """Whether a job leaves several stacks open: it names none, and asks for the fewest changes."""
    return job.work.stack is None and len(job.damper.stacks) > 1 and job.work.from_scratch is None


def whole_problem(setup: JobSetup, *, further: float = FURTHER) -> DamperProblem:
    """The damper of a job with all of its stacks open, asked what one of its set-ups asks.

    Parameters
    ----------
    setup : of the job, for any of them.
    further : how far beyond the windows forces are asked for, as a share of the force before. [-]
    """
    job, goal, parts = setup.job, setup.asked.goal, setup.job.parts
    as_it_is = job.damper if parts is None else parts.damper
    problem = damper_problem(
        job.damper,
        [mounted.name for mounted in job.damper.stacks],
        DamperAsked(
            goal=goal,
            stock=job.stock,
            may_shrink=job.work.height_may_shrink,
            may_grow=job.work.height_may_grow,
            times=job.work.times,
            temperature=job.work.temperature,
            stress_limit=job.work.stress.kept,
            further=further,
            wanted=shares_of(job, goal),
            heights={mounted.name: mounted.stack.height for mounted in as_it_is.stacks},
        ),
    )
    return problem if parts is None else replace(problem, open_anyway=opened_for(parts.changes, job.damper))


def set_up_at_work(
    job: Job, *, gate: GateResult, record: Sequence[StepTaken], further: float = 0.0
) -> JobSetup:
    """The job set up for a stack that has a say in its targets: the goal is the same for all of them."""
    first = None
    for mounted in job.damper.stacks:
        setup = set_up(named(job, mounted.name), gate=gate, record=record, further=further)
        if setup.physics.has_say[role_mask(setup.asked.goal, Role.TARGET)].any():
            return setup
        first = first or setup
    assert first is not None  # noqa: S101
    return first


def setups_of(job: Job, *, record: Sequence[StepTaken], gate: GateResult | None = None) -> list[JobSetup]:
    """The job set up for each stack that it may change and that has a say in its bands, one at least."""
    if not opens_all(job):
        return [set_up(job, gate=gate, record=record)]
    gate = gate or basics_of(job)
    setups = [set_up(named(job, one.name), gate=gate, record=record) for one in job.damper.stacks]
    return [one for one in setups if one.physics.has_say.any()] or setups[:1]


def named(job: Job, name: str | None) -> Job:
    """The same job with one stack open, or with all of them where none is named."""
    return replace(job, work=replace(job.work, stack=name))
