"""Every plan is judged again before anybody reads it, by code that knows no search and no bound."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from optimiser.errors import FaultError
from optimiser.jobs.setup import JobSetup
from optimiser.jobs.way_out import WayOut
from optimiser.model.answer import Answer
from optimiser.model.certificate import candidate_faults, faults, rung_faults
from optimiser.model.ladder import LadderRung
from optimiser.model.problem import Problem


def certify_plan(
    setup: JobSetup, answer: Answer, rungs: Sequence[LadderRung], out: WayOut | None, *, from_nothing: bool
) -> None:
    """Judge all that a plan shows.

    Parameters
    ----------
    setup : the job.
    answer, rungs, out : of its search: candidates or nearest, the ladder, what would do.
    from_nothing : whether the stack was built up from nothing, which holds to no least height.

    Raises
    ------
    FaultError
        Naming what does not hold.
    """
    problem = setup.problem_afresh
    if from_nothing:
        problem = replace(problem, goal=replace(problem.goal, least_height=0.0))
    wrong = [*faults(answer, problem), *rung_faults(rungs, problem)]
    if out is not None:
        wrong += _faults_of_way_out(out, problem)
    if wrong:
        raise FaultError(f"{setup.job.path}", wrong)


def _faults_of_way_out(out: WayOut, problem: Problem) -> Iterator[str]:
    for one in out.loosenings:
        yield from (f"loosened '{one.name}': {words}" for words in candidate_faults(one.candidate, problem))
        if len(one.candidate.changes) > one.changes:
            yield f"loosened '{one.name}': it takes {len(one.candidate.changes)} changes, said {one.changes}"
    if out.one_more is not None:
        yield from (f"one change more: {words}" for words in faults(out.one_more, problem))
