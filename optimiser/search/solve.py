"""The front door of the search: clicks alone, then one change more at a time, each number closed in turn.

Turning an adjuster costs the tuner nothing, so it is tried before any shim. What follows is iterative
deepening over the number of changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from optimiser.model import rank
from optimiser.model.answer import Answer, Candidate, Effort, Status
from optimiser.model.problem import Problem
from optimiser.model.unanswered import Unanswered
from optimiser.search.control import Control, Progress
from optimiser.search.evaluator import Evaluator
from optimiser.search.idle_adjusters import without_idle_adjusters
from optimiser.search.iterative_deepening import IterativeDeepening
from optimiser.search.objections import Objections, left_out
from optimiser.search.space.problem_data import problem_data
from optimiser.search.unchanged import unchanged_stack
from optimiser.search.warm_up import warm_up


def solve(
    problem: Problem,
    *,
    most_changes: int,
    control: Control[Progress] | None = None,
    wanted: int = 10,
    settings: tuple[int, ...] | None = None,
    find_nearest: bool = True,
    known: Sequence[Candidate] = (),
) -> Answer:
    """The buildable stacks with the fewest changes that meet a goal, and the proof that fewer will not do.

    Parameters
    ----------
    problem : what is in the damper, what is on the shelf, and what is asked.
    most_changes : most shims out, in or swapped.
    control : time limit, interruption, progress and cores; none of them when left out.
    wanted : how many candidates to list.
    settings : adjuster settings at which changed stacks are tried; the present one when left out.
    known : stacks with their figures, to begin from; what is found is none the worse for it, and sooner. The
        nearest may be one of them that has adjusters turned besides.
    find_nearest : when nothing meets the goal, go on to find what comes nearest and prove it.

    Returns
    -------
    Answer
        The same for the same problem, unless time or the user ends it. Candidates beyond the least number of
        changes are the best of those found, not proven to be the best there are.

    Raises
    ------
    InputError
        When the stack in the damper breaks a rule itself, or the model has no answer for it.
    """
    physics, control = problem.physics, control or Control()
    warm_up()
    deadline = control.deadline()
    evaluator = Evaluator(physics, cores=control.cores)
    data = problem_data(problem, evaluator)
    objections = Objections(physics)
    as_it_is = unchanged_stack(evaluator, problem, objections)
    unchanged = without_idle_adjusters(
        as_it_is.candidates, settings=physics.settings, present=physics.setting
    )
    met = [one for one in unchanged if one.misfit == 0]
    if met:
        return Answer(
            status=Status.PROVEN_LEAST,
            candidates=rank.ranked(met, wanted=wanted, present=physics.setting),
            proven_too_few=-1,
            most_changes=most_changes,
            nearest=None,
            nearest_proven=False,
            effort=Effort(evaluator.evaluations, 0, len(unchanged)),
            closest_proven=not as_it_is.unanswered,
            left_out=left_out(objections.refused.values()),
            unanswered=Unanswered(as_it_is.unanswered),
        )
    search = IterativeDeepening(
        problem,
        data=data,
        evaluator=evaluator,
        control=control,
        deadline=deadline,
        settings=(physics.setting,) if settings is None else settings,
        nearest=min(
            (*unchanged, *as_it_is.unsure),
            key=lambda one: (one.misfit, one.setting != physics.setting, one.setting),
        ),
        objections=objections,
        wanted=wanted,
        most_changes=most_changes,
        find_nearest=find_nearest,
        known=known,
        unanswered=as_it_is.unanswered,
    )
    try:
        search.run()
        return replace(
            search.answer(),
            clicks_kept=len(physics.settings) > 1,
        )
    finally:
        search.close()
