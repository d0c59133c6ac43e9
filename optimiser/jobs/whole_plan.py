"""A job that names no stack: planned over all stacks of its damper at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from optimiser.errors import FaultError, InputError
from optimiser.intake.basics import GateResult
from optimiser.intake.own_record import StepTaken
from optimiser.jobs.confidence import with_chances_of_all
from optimiser.jobs.job import Job
from optimiser.jobs.part_plan import planned_with_parts_over_all
from optimiser.jobs.planned import Planned
from optimiser.jobs.whole_parts import AllStacks
from optimiser.jobs.whole_planned import planned_over_all
from optimiser.jobs.whole_setup import set_up_at_work
from optimiser.jobs.whole_way_out import whole_way_out
from optimiser.model.answer import Status
from optimiser.model.damper_answer import DamperAnswer
from optimiser.model.open_stacks import DamperProblem
from optimiser.model.whole_certificate import whole_faults
from optimiser.search import Control, Progress
from optimiser.several import LeastWork, solve_least_work, solve_whole
from optimiser.several.shares import MOST_CHANGES

SEARCH_SHARE: Final = 0.9
"""Of the time, so that some is left to say what would do where the search was in vain. [-]"""

PLAIN_SHARE: Final = 0.4
"""Of the time, for stacks whatever their chance, where a chance is asked. [-]"""

OWN_SHARE: Final = 0.5
"""Of the time, for the damper's own parts, where others are at hand. [-]"""


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
        When the job contradicts itself, or asks for more changes than can be shared out.
    """
    if job.work.most_changes > MOST_CHANGES:
        raise InputError(
            f"{job.path}: work.most_changes (or --changes): got {job.work.most_changes} with "
            f"{len(job.damper.stacks)} stacks open, expected at most {MOST_CHANGES}. Allow fewer, or name "
            "the stack that may change under [work], or with --stack."
        )
    own = AllStacks(set_up_at_work(job, gate=gate, record=record), gate, record)
    deadline, entire = control.deadline(), control
    control = control.share(OWN_SHARE) if job.at_hand else control
    own_deadline = control.deadline()
    asked, surest = job.variant.confidence, None
    first = _searched(own.problem, own, control.share(SEARCH_SHARE if asked is None else PLAIN_SHARE))
    if asked is not None and first.answer.candidates:
        surest = with_chances_of_all(own.problem, own.setup, level=asked)
    sure = None if surest is None else _searched(surest, own, control.left(own_deadline))
    found, closed = first
    if sure is not None and sure.answer.candidates:
        found, closed = _with_less_effort(found, sure.answer), sure.closed
    sure_ones = None if sure is None else sure.answer
    planned = planned_over_all(own, found, control=control, sure_ones=sure_ones)
    planned = planned_with_parts_over_all(planned, own, closed=closed, control=entire.left(deadline))
    if planned.part_changes or found.candidates or found.status is Status.INTERRUPTED:
        return planned
    out = whole_way_out(own.about(found.nearest), own.problem, found, control=entire.left(deadline))
    return replace(planned, way_out=out)


def _searched(problem: DamperProblem, own: AllStacks, control: Control[Progress]) -> LeastWork:
    """What a search finds, judged again; the least work of it where it is weighed against other parts."""
    job = own.setup.job
    setting = own.setup.physics.middle if job.work.clickers_to_middle else None
    most, wanted = job.work.most_changes, job.work.candidates
    if job.at_hand:
        found, closed = solve_least_work(
            problem, most_changes=most, control=control, wanted=wanted, setting=setting
        )
    else:
        found = solve_whole(problem, most_changes=most, control=control, wanted=wanted, setting=setting)
        closed = False
    wrong = whole_faults(found, problem)
    if wrong:
        raise FaultError(f"{job.path}", wrong)
    return LeastWork(found, closed)


def _with_less_effort(found: DamperAnswer, sure_ones: DamperAnswer) -> DamperAnswer:
    """The answer with a chance, with what less effort does whatever its chance."""
    least = sure_ones.candidates[0].number_of_changes
    known = {one.number_of_changes: one for one in (*found.nearest_of, *reversed(found.candidates))}
    return replace(sure_ones, nearest_of=tuple(known[number] for number in sorted(known) if number < least))
