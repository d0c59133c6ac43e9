"""An answer over all stacks of a damper as a plan: about one, with what changes in others beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from operator import itemgetter

from optimiser.allocation.real_shims import real_shims
from optimiser.jobs.confidence import STATED_DRAWS, Confidence, confidence_of
from optimiser.jobs.felt import felt_in
from optimiser.jobs.how_sure import HowSure, how_sure
from optimiser.jobs.job import Job
from optimiser.jobs.ladder import LadderStep, judged
from optimiser.jobs.planned import Planned
from optimiser.jobs.setup import JobSetup
from optimiser.jobs.sooner_boiling import boils_sooner
from optimiser.jobs.stress import stress_check
from optimiser.jobs.variant import command_line
from optimiser.jobs.whole_answer import as_answer, as_candidate, folded_together
from optimiser.jobs.whole_parts import AllStacks
from optimiser.jobs.whole_setup import named
from optimiser.model.answer import Answer, Candidate, Status
from optimiser.model.damper_answer import HOUR, DamperAnswer, DamperCandidate
from optimiser.model.ladder import LadderRung
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.ways import Idea, Way, way_of
from optimiser.search import Control, Progress
from optimiser.spread.spread import DRAWS


def planned_over_all(
    damper: AllStacks,
    found: DamperAnswer,
    *,
    control: Control[Progress],
    sure_ones: DamperAnswer | None,
) -> Planned:
    """The answer as one about a stack, with what changes in others beside it.

    Parameters
    ----------
    damper : with its own parts, or with others.
    found : about it.
    control : ends what takes long.
    sure_ones : what has the chance that is asked; None where none is, or it cannot be worked out.
    """
    problem = damper.problem
    setup = damper.about(least_work(found, problem) or found.nearest)
    job = named(setup.job, None)
    before = None if damper.before is None else damper.before.setup
    own = [one.name for one in problem.open_stacks].index(setup.mounted.name)
    together = folded_together(found.candidates, problem)
    found = replace(found, candidates=tuple(first for first, *_ in together))
    answer = as_answer(found, problem, setup)
    ladder = _ladder(found, answer, damper, setup, together)
    shown = (*answer.candidates, *(step.best for step in ladder), *filter(None, (answer.nearest,)))
    alone = [one for one in shown if not one.others]
    level = job.variant.confidence if found.candidates else None
    draws = DRAWS if level is None else STATED_DRAWS
    stop = control.stop_requested
    sure = how_sure(setup, shown, should_stop=stop, draws=draws, across=True, before=before)
    recommended = least_work(found, problem)
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
        remarks=(*_remarks(job, problem, found, ladder), *sooner),
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
    damper: AllStacks,
    setup: JobSetup,
    together: Sequence[Sequence[DamperCandidate]],
) -> tuple[LadderStep, ...]:
    """What each number of changes does, in whichever stacks; those that nothing is known of are left out."""
    steps: list[LadderStep] = []
    problem = damper.problem
    own = [one.name for one in problem.open_stacks].index(setup.mounted.name)
    nearest = {one.number_of_changes: one for one in found.nearest_of}
    twins = {first: tuple(as_candidate(one, problem, setup) for one in rest) for first, *rest in together}
    for changes in range(found.most_changes + 1):
        pairs = list(zip(found.candidates, answer.candidates, strict=True))
        met = [(one, listed) for one, listed in pairs if one.number_of_changes == changes]
        near = nearest.get(changes)
        if any(step.rung.in_range for step in steps):
            near = None
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
                damper.time(best) / HOUR,
            )
        )
    return tuple(steps)


def _way(one: Candidate, problem: DamperProblem, own: int) -> Way:
    return way_of(one.changes, old=problem.present[own], clicks=one.setting != problem.setting)


def least_work(found: DamperAnswer, problem: DamperProblem) -> DamperCandidate | None:
    """The candidate that takes least time, the first of those that take as much; None where there is none."""
    return min(found.candidates, key=problem.time, default=None)


def _remarks(
    job: Job, problem: DamperProblem, found: DamperAnswer, ladder: Sequence[LadderStep]
) -> list[str]:
    """What else to know about an answer over several stacks."""
    names = [f"'{one.name}'" for one in problem.open_stacks]
    opened = any(step.best.number_of_changes for step in ladder)
    hours = problem.times.one_more / HOUR
    time = f"; opening an assembly is taken as {hours:g} h of work" if opened else ""
    said = [
        f"{len(names)} stacks may change: {', '.join(names)}. Changes are counted over all of them{time}."
    ]
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
