"""A job that names no stack: planned over all stacks of its damper at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from operator import itemgetter
from typing import Final

from optimiser.allocation.real_shims import real_shims
from optimiser.errors import FaultError, InputError
from optimiser.intake.basics import GateResult
from optimiser.intake.own_record import StepTaken
from optimiser.jobs.confidence import STATED_DRAWS, Confidence, confidence_of, with_chances_of_all
from optimiser.jobs.felt import felt_in
from optimiser.jobs.how_sure import HowSure, how_sure
from optimiser.jobs.job import Job
from optimiser.jobs.ladder import LadderStep, judged
from optimiser.jobs.planned import Planned
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.jobs.sooner_boiling import boils_sooner
from optimiser.jobs.stress import stress_check
from optimiser.jobs.variant import command_line
from optimiser.jobs.whole_answer import as_answer, as_candidate, folded_together
from optimiser.jobs.whole_setup import named, set_up_at_work, whole_problem
from optimiser.jobs.whole_way_out import whole_way_out
from optimiser.model.answer import Answer, Candidate, Status
from optimiser.model.damper_answer import DamperAnswer, DamperCandidate
from optimiser.model.ladder import LadderRung
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.ways import Idea, Way, way_of
from optimiser.model.whole_certificate import whole_faults
from optimiser.search import Control, Progress
from optimiser.several import solve_whole
from optimiser.several.shares import MOST_CHANGES
from optimiser.spread.spread import DRAWS

SEARCH_SHARE: Final = 0.9
"""Of the time, so that some is left to say what would do where the search was in vain. [-]"""

PLAIN_SHARE: Final = 0.4
"""Of the time, for stacks whatever their chance, where a chance is asked. [-]"""


def plan_whole(
    job: Job, *, gate: GateResult, record: Sequence[StepTaken], control: Control[Progress]
) -> Planned:
    """Plan a job over all stacks of its damper.

    Parameters
    ----------
    job : that names no stack.
    gate : its basics, which are passed.
    record : the shop's own steps.
    control : time limit, interruption, progress and cores.

    Raises
    ------
    InputError
        When the job contradicts itself, or asks for what is only done for one stack.
    """
    if job.at_hand:
        line = command_line("plan", job.path, replace(job.variant, stack=job.damper.stacks[0].name))
        raise InputError(
            f"{job.path}: at_hand: got other parts to try with {len(job.damper.stacks)} stacks open, "
            f"expected one stack. Name it: {line}"
        )
    if job.work.most_changes > MOST_CHANGES:
        raise InputError(
            f"{job.path}: work.most_changes (or --changes): got {job.work.most_changes} with "
            f"{len(job.damper.stacks)} stacks open, expected at most {MOST_CHANGES}. Allow fewer, or name "
            "the stack that may change under [work], or with --stack."
        )
    setup = set_up_at_work(job, gate=gate, record=record)
    problem, deadline = whole_problem(setup), control.deadline()
    asked, surest = job.variant.confidence, None
    found = _searched(problem, setup, control.share(SEARCH_SHARE if asked is None else PLAIN_SHARE))
    if asked is not None and found.candidates:
        surest = with_chances_of_all(problem, setup, level=asked)
    sure_ones = None if surest is None else _searched(surest, setup, control.left(deadline))
    if sure_ones is not None and sure_ones.candidates:
        found = _with_less_effort(found, sure_ones)
    shown = _least_work(found, job) or found.nearest
    if shown is not None and shown.changed:
        setup = set_up(named(job, problem.open_stacks[shown.changed[0]].name), gate=gate, record=record)
    planned = _planned(job, setup, problem, found, control, sure_ones)
    if found.candidates or found.status is Status.INTERRUPTED:
        return planned
    return replace(planned, way_out=whole_way_out(setup, problem, found, control=control.left(deadline)))


def _searched(problem: DamperProblem, setup: JobSetup, control: Control[Progress]) -> DamperAnswer:
    """What a search finds, judged again."""
    job = setup.job
    found = solve_whole(
        problem,
        most_changes=job.work.most_changes,
        control=control,
        wanted=job.work.candidates,
        setting=setup.physics.middle if job.work.clickers_to_middle else None,
    )
    wrong = whole_faults(found, problem)
    if wrong:
        raise FaultError(f"{job.path}", wrong)
    return found


def _with_less_effort(found: DamperAnswer, sure_ones: DamperAnswer) -> DamperAnswer:
    """The answer with a chance, with what less effort does whatever its chance."""
    least = sure_ones.candidates[0].number_of_changes
    known = {one.number_of_changes: one for one in (*found.nearest_of, *reversed(found.candidates))}
    return replace(sure_ones, nearest_of=tuple(known[number] for number in sorted(known) if number < least))


def _planned(
    job: Job,
    setup: JobSetup,
    problem: DamperProblem,
    found: DamperAnswer,
    control: Control[Progress],
    sure_ones: DamperAnswer | None,
) -> Planned:
    """The answer as one about a stack, with what changes in others beside it."""
    own = [one.name for one in problem.open_stacks].index(setup.mounted.name)
    together = folded_together(found.candidates, problem)
    found = replace(found, candidates=tuple(first for first, *_ in together))
    answer = as_answer(found, problem, setup)
    ladder = _ladder(found, answer, problem, setup, together)
    shown = (*answer.candidates, *(step.best for step in ladder), *filter(None, (answer.nearest,)))
    alone = [one for one in shown if not one.others]
    level = job.variant.confidence if found.candidates else None
    draws = DRAWS if level is None else STATED_DRAWS
    sure = how_sure(setup, shown, should_stop=control.stop_requested, draws=draws, across=True)
    recommended = _least_work(found, job)
    sooner: tuple[str, ...] = ()
    if recommended is not None and recommended.changed in {(), (own,)}:
        sooner = boils_sooner(setup, as_candidate(recommended, problem, setup))
    return Planned(
        job=job,
        gate=setup.gate,
        mounted=setup.mounted,
        asked=setup.asked,
        settings=setup.physics.settings,
        setting=setup.physics.setting,
        answer=answer,
        felt_at=felt_in(setup.job),
        ladder=ladder,
        remarks=(*_remarks(job, problem, found), *sooner),
        stress=stress_check(answer, setup.physics, stack=setup.stack, rule=job.work.stress, ladder=ladder),
        sure=sure,
        confidence=None if level is None else _confidence(answer, sure, sure_ones, level=level),
        open_stacks=tuple(one.name for one in problem.open_stacks),
        real={
            one: real
            for one in dict.fromkeys(alone)
            if job.stock.readings and one.changes and (real := real_shims(setup.problem, one)) is not None
        },
    )


def _confidence(answer: Answer, sure: HowSure, sure_ones: DamperAnswer | None, *, level: float) -> Confidence:
    """What became of the wish for a chance."""
    if sure_ones is not None and sure_ones.candidates:
        return confidence_of(answer, sure, level=level)
    chances = [(spread.chance, one) for one in answer.candidates if (spread := sure.of(one)) is not None]
    surest = max(chances, key=itemgetter(0))[1] if chances else None
    proven = sure_ones is not None and sure_ones.status is Status.PROVEN_IMPOSSIBLE
    unsure = 0 if sure_ones is None else sure_ones.left_out.unsure
    return Confidence(level, False, None, proven, unsure, surest)


def _ladder(
    found: DamperAnswer,
    answer: Answer,
    problem: DamperProblem,
    setup: JobSetup,
    together: Sequence[Sequence[DamperCandidate]],
) -> tuple[LadderStep, ...]:
    """What each number of changes does, in whichever stacks; those that nothing is known of are left out."""
    steps, own = [], [one.name for one in problem.open_stacks].index(setup.mounted.name)
    nearest = {one.number_of_changes: one for one in found.nearest_of}
    twins = {first: tuple(as_candidate(one, problem, setup) for one in rest) for first, *rest in together}
    for changes in range(found.most_changes + 1):
        pairs = list(zip(found.candidates, answer.candidates, strict=True))
        met = [(one, listed) for one, listed in pairs if one.number_of_changes == changes]
        near = nearest.get(changes)
        if not met and (near is None or (not changes and near.setting == problem.setting)):
            continue
        least = found.status is Status.PROVEN_LEAST and changes == found.proven_too_few + 1
        ideas = tuple(Idea(_way(listed, problem, own), listed, twins[one]) for one, listed in met)
        rung = LadderRung(
            changes,
            ideas,
            None if met or near is None else as_candidate(near, problem, setup),
            changes <= found.proven_too_few or least,
        )
        first = met[0][0] if met else near
        best = rung.best
        if best is None or first is None:
            continue
        steps.append(
            LadderStep(
                rung,
                best,
                judged(problem.goal, best),
                problem.taken(first.stacks),
                first.hours(to_open=problem.hours_to_open),
            )
        )
    return tuple(steps)


def _way(one: Candidate, problem: DamperProblem, own: int) -> Way:
    return way_of(one.changes, old=problem.present[own], clicks=one.setting != problem.setting)


def _least_work(found: DamperAnswer, job: Job) -> DamperCandidate | None:
    """The candidate that takes fewest hours, the first of those that take as many."""
    hours = job.work.hours_to_open
    return min(found.candidates, key=lambda one: one.hours(to_open=hours), default=None)


def _remarks(job: Job, problem: DamperProblem, found: DamperAnswer) -> list[str]:
    """What else to know about an answer over several stacks."""
    names = [f"'{one.name}'" for one in problem.open_stacks]
    listed = ", ".join(names)
    opening = f"opening one more assembly is taken as {problem.hours_to_open:g} h of work"
    said = [f"{len(names)} stacks may change: {listed}. Changes are counted over all of them; {opening}."]
    for group in problem.coupled:
        coupled = " and ".join(f"'{name}'" for name in group)
        said.append(
            f"{coupled} share one flow, so what they do does not add: of these one was changed at a time, "
            "and nothing is said of changing several."
        )
    if found.status is Status.BEST_SO_FAR:
        said.append(
            "The time ran out before all was searched. To let it go on to the end: "
            f"{command_line('plan', job.path, job.variant)} --time-limit 0"
        )
    return said
