"""The main job, straight down: basics, goal, search."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from optimiser.allocation.real_shims import RealShims, real_shims
from optimiser.intake.own_record import StepTaken
from optimiser.intake.promise import BeyondPromiseError
from optimiser.jobs.certified import certify_plan
from optimiser.jobs.confidence import Confident, confident
from optimiser.jobs.felt import felt_in
from optimiser.jobs.finer_steps import called_too_coarse, steps_advice
from optimiser.jobs.how_sure import how_sure
from optimiser.jobs.job import Job
from optimiser.jobs.job_basics import basics_of
from optimiser.jobs.ladder import steps_of
from optimiser.jobs.part_plan import planned_with_parts
from optimiser.jobs.planned import Planned
from optimiser.jobs.ride_job import ride_behind
from optimiser.jobs.setup import JobSetup, set_up, stack_to_change
from optimiser.jobs.sooner_boiling import boils_sooner
from optimiser.jobs.stress import stress_check
from optimiser.jobs.way_out import WayOut, typed, way_out
from optimiser.jobs.whole_plan import plan_whole
from optimiser.jobs.whole_setup import opens_all
from optimiser.model.answer import Answer, Candidate, Status
from optimiser.model.ladder import LadderRung, folded_away
from optimiser.model.problem import Problem
from optimiser.search import Control, Progress, climb, solve, survey
from optimiser.studies.fineness import coarse_steps
from optimiser.studies.from_scratch import fit
from optimiser.studies.single_changes import single_changes

SEARCH_SHARE: Final = 0.9
"""Of what is left of it then, so that time is left to say what would do where the search was in vain. [-]"""

PLAIN_SHARE: Final = 0.5
"""Of the time, for shims and clickers alone, where other parts are at hand. [-]"""

SURVEY_SHARE: Final = 0.3
"""Of a time limit, for different ways to the goal, from which the search begins. [-]"""


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
    whole = opens_all(job)
    mounted = job.damper.stacks[0] if whole else stack_to_change(job)
    if whole:
        job.damper.refuse_what_cannot_be_built()
    gate = basics_of(job, override_reason=override_reason)
    if not gate.passed:
        return Planned(job=job, gate=gate, mounted=mounted)
    control = control or Control()
    control = replace(control, time_limit=control.time_limit or job.work.time_limit)
    try:
        if whole:
            return plan_whole(job, gate=gate, record=record, control=control)
        setup = set_up(job, gate=gate, record=record)
    except BeyondPromiseError as beyond:
        findings = (*gate.findings, beyond.finding)
        return Planned(job=job, gate=replace(gate, passed=False, findings=findings), mounted=mounted)
    work, physics = job.work, setup.physics
    for_parts, entire = control.deadline(), control
    if job.at_hand:
        control = control.share(PLAIN_SHARE)
    deadline = control.deadline()
    rungs: tuple[LadderRung, ...] = ()
    out = None
    if work.from_scratch is not None:
        answer = fit(setup.problem, from_nothing=work.from_scratch == "nothing", control=control)
    else:
        answer, rungs, out = _searched(setup, control, deadline)
    certain = _with_chance(setup, answer, rungs, control.left(deadline))
    if certain is not None:
        answer, rungs = certain.answer, certain.rungs
    certify_plan(setup, answer, rungs, out, from_nothing=work.from_scratch == "nothing")
    ladder = steps_of(rungs, setup.asked.goal, old=setup.stack, stock=setup.stock)
    planned = Planned(
        job=job,
        gate=setup.gate,
        mounted=mounted,
        asked=setup.asked,
        settings=physics.settings,
        setting=physics.setting,
        answer=answer,
        felt_at=felt_in(job),
        ladder=ladder,
        advice=_advice(answer, setup, out, control.left(deadline)),
        way_out=out,
        ride=ride_behind(job, ladder=ladder, stack_name=setup.mounted.name, settings=physics.settings),
        stress=stress_check(answer, physics, stack=setup.stack, rule=work.stress, ladder=ladder),
        real=dict(_of_real_shims(setup.problem, answer, rungs)),
    )
    shown = (*answer.candidates, *(step.best for step in ladder), *filter(None, (answer.nearest,)))
    if certain is None:
        sure = how_sure(setup, shown, should_stop=control.stop_requested, real=planned.real)
        planned = replace(planned, sure=sure)
    else:
        planned = replace(planned, sure=certain.sure, confidence=certain.confidence)
    late = _go_on(planned, answer)
    recommended = planned.shown if answer.candidates else planned.near_enough
    planned = replace(planned, remarks=(*late, *boils_sooner(setup, recommended)))
    return planned_with_parts(planned, setup, control=entire.left(for_parts))


def _with_chance(
    setup: JobSetup, answer: Answer, rungs: tuple[LadderRung, ...], control: Control[Progress]
) -> Confident | None:
    """The answer with the chance that is asked; None where none is, or nothing meets the goal as it is."""
    level = setup.job.variant.confidence
    if level is None or not answer.candidates or setup.job.work.from_scratch is not None:
        return None
    return confident(setup, answer, rungs, level=level, control=control)


def _of_real_shims(
    problem: Problem, answer: Answer, rungs: Sequence[LadderRung]
) -> Iterator[tuple[Candidate, RealShims]]:
    """What is to be taken and what it does, of all that may be built and takes shims that were measured."""
    if not problem.stock.readings:
        return
    steps = (rung.best for rung in rungs if rung.best is not None)
    for candidate in dict.fromkeys((*answer.candidates, *folded_away(answer, rungs), *steps)):
        if (found := real_shims(problem, candidate)) is not None:
            yield candidate, found


def _go_on(planned: Planned, answer: Answer) -> tuple[str, ...]:
    """How to let a search go on that the time ended."""
    if answer.status is not Status.BEST_SO_FAR:
        return ()
    line = typed(planned.job, planned.job.variant, override=planned.gate.override_reason)
    return (f"The time ran out before all was searched. To let it go on to the end: {line} --time-limit 0",)


def _searched(
    setup: JobSetup, control: Control[Progress], deadline: float | None
) -> tuple[Answer, tuple[LadderRung, ...], WayOut | None]:
    """The answer with its ladder; where nothing meets the goal, what would do."""
    problem, work, physics = setup.problem, setup.job.work, setup.physics
    middle = physics.middle if work.clickers_to_middle else None
    known = survey(
        problem, most_changes=work.most_changes, setting=middle, control=control.share(SURVEY_SHARE)
    )
    answer = solve(
        problem,
        most_changes=work.most_changes,
        control=control.left(deadline).share(SEARCH_SHARE),
        wanted=work.candidates,
        settings=None if middle is None else (middle,),
        known=known,
    )
    answer, rungs = climb(problem, answer, known=known, wanted=work.candidates)
    if answer.candidates or answer.status is Status.INTERRUPTED:
        return answer, rungs, None
    near = [rung.nearest for rung in rungs if rung.nearest is not None]
    out = way_out(setup, answer, known=near, control=control.left(deadline))
    if out.met is None:
        return answer, rungs, out
    answer = replace(answer, candidates=(out.met,), nearest=None)
    return *climb(problem, answer, known=known, wanted=work.candidates), None


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
