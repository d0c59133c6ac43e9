"""The main job, straight down: basics, goal, search."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from optimiser.intake.own_record import StepTaken
from optimiser.intake.promise import BeyondPromiseError
from optimiser.jobs.felt import felt_in
from optimiser.jobs.finer_steps import called_too_coarse, steps_advice
from optimiser.jobs.job import Job
from optimiser.jobs.ladder import steps_of
from optimiser.jobs.planned import Planned
from optimiser.jobs.setup import JobSetup, basics_of, set_up, stack_to_change
from optimiser.jobs.stress import stress_check
from optimiser.jobs.way_out import WayOut, way_out
from optimiser.model.answer import Answer, Status
from optimiser.model.ladder import LadderRung
from optimiser.search import Control, Progress, climb, solve
from optimiser.studies.fineness import coarse_steps
from optimiser.studies.from_scratch import fit
from optimiser.studies.single_changes import single_changes

SEARCH_SHARE: Final = 0.7
"""Of a time limit, so that time is left to say what would do where the search was in vain. [-]"""

LADDER_TIME: Final = 3.0
"""Time that the ladder has when the search has used up its own. [s]"""


def plan_job(
    job: Job,
    *,
    control: Control[Progress] | None = None,
    record: Sequence[StepTaken] = (),
    override_reason: str | None = None,
) -> Planned:
    """Plan a job: the basics, then the fewest changes that meet its goal.

    Parameters
    ----------
    job : as :func:`optimiser.files.job_reader.read_job` reads it; ``dataclasses.replace`` gives variants.
    control : time limit, interruption, progress and cores; none of them when left out. Its time limit wins
        over the job's own. [s]
    record : the shop's own steps, which set the first step for a symptom once enough of them helped.
    override_reason : why to go on although the basics are out of range; wins over the job's own.

    Returns
    -------
    Planned
        With ``answer`` None when the basics come first, or a target in words lies wholly where oil would
        boil; ``gate.findings`` says why. Otherwise the answer has the candidates, the best first, each with a
        force [N] for each of ``asked.goal.velocities``.

    Raises
    ------
    InputError
        When the job contradicts itself, names a stack that is not there, or one that cannot be built.
    ModelError
        When the damper cannot be computed.
    """
    mounted, gate = stack_to_change(job), basics_of(job, override_reason=override_reason)
    if not gate.passed:
        return Planned(job=job, gate=gate, mounted=mounted)
    try:
        setup = set_up(job, gate=gate, record=record)
    except BeyondPromiseError as beyond:
        findings = (*gate.findings, beyond.finding)
        return Planned(job=job, gate=replace(gate, passed=False, findings=findings), mounted=mounted)
    work, physics = job.work, setup.physics
    control = control or Control()
    control = replace(control, time_limit=control.time_limit or work.time_limit)
    deadline = control.deadline()
    rungs: tuple[LadderRung, ...] = ()
    if work.from_scratch is not None:
        answer = fit(setup.problem, from_nothing=work.from_scratch == "nothing", control=control)
    else:
        answer = solve(
            setup.problem,
            most_changes=work.most_changes,
            control=_share(control, SEARCH_SHARE),
            wanted=work.candidates,
            settings=(physics.middle,) if work.clickers_to_middle else None,
        )
        answer, rungs = _climbed(setup, answer, _left(control, deadline, least=LADDER_TIME))
    out = None
    if not answer.candidates and work.from_scratch is None and answer.status is not Status.INTERRUPTED:
        known = [rung.nearest for rung in rungs if rung.nearest is not None]
        out = way_out(setup, answer, known=known, control=_left(control, deadline))
        if out.met is not None:
            answer = replace(answer, candidates=(out.met,), nearest=None)
            answer, rungs = _climbed(setup, answer, _left(control, deadline, least=LADDER_TIME))
            out = None
    ladder = steps_of(rungs, setup.asked.goal, old=setup.stack)
    return Planned(
        job=job,
        gate=setup.gate,
        mounted=mounted,
        asked=setup.asked,
        settings=physics.settings,
        setting=physics.setting,
        answer=answer,
        felt_at=felt_in(job),
        ladder=ladder,
        advice=_advice(answer, setup, out, _left(control, deadline)),
        way_out=out,
        stress=stress_check(answer, physics, stack=setup.stack, rule=work.stress, ladder=ladder),
    )


def _climbed(
    setup: JobSetup, answer: Answer, control: Control[Progress]
) -> tuple[Answer, tuple[LadderRung, ...]]:
    """The answer with its ladder."""
    work, physics = setup.job.work, setup.physics
    return climb(
        setup.problem,
        answer,
        wanted=work.candidates,
        setting=physics.middle if work.clickers_to_middle else None,
        control=control,
    )


def _share(control: Control[Progress], share: float) -> Control[Progress]:
    """The same control for a share of the time."""
    return control if control.time_limit is None else replace(control, time_limit=share * control.time_limit)


def _left(control: Control[Progress], deadline: float | None, *, least: float = 0.0) -> Control[Progress]:
    """The same control for what is left of the time, and no less than the least. [s]"""
    left = None if deadline is None else max(deadline - time.monotonic(), least)
    return replace(control, time_limit=left)


def _advice(
    answer: Answer, setup: JobSetup, out: WayOut | None, control: Control[Progress]
) -> tuple[str, ...]:
    """What to do first when one change, and all that was allowed besides, are proven not to meet the goal."""
    if not called_too_coarse(setup, answer):
        return ()
    around = coarse_steps(
        setup.asked.goal,
        stack=setup.stack,
        changed=single_changes(setup.stack, mounting=setup.mounting, stock=setup.stock),
        coarse=setup.coarse_forces,
        forces=setup.forces,
        should_stop=control.should_stop,
    )
    if around is None:
        return ()
    one_more = None if out is None else out.one_more
    return tuple(steps_advice(setup, around, answer, control=control, one_more=one_more))
