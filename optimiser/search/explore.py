"""The same search for any objective: all stacks within a number of changes, of which it accepts some.

The studies ask their own questions with it: how far a band goes, which purchase helps, which step comes
nearest.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from optimiser.model.answer import Effort, Status
from optimiser.model.objection import NONE_LEFT_OUT, LeftOut
from optimiser.model.problem import Problem
from optimiser.model.unanswered import ALL_ANSWERED, Unanswered
from optimiser.search.branch_and_bound import BranchAndBound
from optimiser.search.control import Control, Stopped, TreeProgress
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objective import Objective
from optimiser.search.space.problem_data import problem_data
from optimiser.search.tree.roots import shapes
from optimiser.search.warm_up import warm_up


@dataclass(frozen=True, slots=True)
class Explored:
    """How far an exploration came.

    Parameters
    ----------
    stopped : why it ended early; None when no stack is left that the objective would accept.
    proven : whether no such stack is left, and the model could answer for every stack.
    effort : what it cost.
    left_out : stacks that the objective would have accepted and against which something else speaks.
    unanswered : stacks that the model had no answer for.
    """

    stopped: Status | None
    proven: bool
    effort: Effort
    left_out: LeftOut = NONE_LEFT_OUT
    unanswered: Unanswered = ALL_ANSWERED


def explore(
    problem: Problem,
    objective: Objective,
    *,
    most_changes: int,
    control: Control[TreeProgress] | None = None,
    settings: tuple[int, ...] | None = None,
    closed: Callable[[int, bool], None] | None = None,
) -> Explored:
    """Record every stack within a number of changes that an objective accepts.

    Parameters
    ----------
    problem : what is in the damper and on the shelf; the goal's windows order the work, and their widths say
        what counts as much.
    objective : says which families are pruned and which stacks are accepted, and records those.
    most_changes : most shims out, in or swapped; at least 1.
    control : time limit, interruption, progress and cores; none of them when left out.
    settings : adjuster settings at which stacks are tried; the present one when left out.
    closed : told when no stack with at most so many changes is left that the objective would accept, and
        whether the model could answer for every stack.

    Raises
    ------
    InputError
        When the stack in the damper breaks a rule itself.
    """
    physics, control = problem.physics, control or Control()
    warm_up()
    evaluator, metrics = Evaluator(physics, cores=control.cores), GoalMetrics(problem.goal)
    deadline = control.deadline()
    data = problem_data(problem, evaluator)
    searches: list[BranchAndBound] = []

    def spent() -> Effort:
        return Effort(
            evaluator.evaluations + sum(one.worker_evaluations for one in searches),
            sum(one.count.families for one in searches),
            sum(one.stacks for one in searches),
        )

    def stop(families_open: int) -> None:
        control.stop_if_asked(deadline)
        effort = spent()
        control.report(TreeProgress(families_open, effort.families, effort.evaluations))

    stopped = None
    try:
        searches += [
            BranchAndBound(
                data=data,
                evaluator=evaluator,
                goal=problem.goal,
                stock=problem.stock,
                setting=setting,
                stop=stop,
                cores=control.most_processes,
                again=False,
            )
            for setting in ((physics.setting,) if settings is None else settings)
        ]
        for changes in range(1, most_changes + 1):
            for search in searches:
                kinds = shapes(
                    data,
                    evaluator,
                    changes,
                    relative_half_width=metrics.relative_half_width,
                    setting=search.setting,
                )
                search.search(kinds, changes, objective)
            if closed is not None:
                closed(changes, not any(search.count.unanswered for search in searches))
    except Stopped as early:
        stopped = early.status
    finally:
        for search in searches:
            search.close()
    stacks = dict.fromkeys(stack for search in searches for stack in search.count.unanswered)
    refused = {place: one for search in searches for place, one in search.refused.items()}
    objected = LeftOut.of(one.objection for one in refused.values() if one.listed)
    proven = stopped is None and not stacks
    return Explored(stopped, proven, spent(), objected, Unanswered(stacks=tuple(stacks)))
