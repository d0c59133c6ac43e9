"""Every stack within a number of changes, offered to whoever says which ones are wanted."""

from __future__ import annotations

from dataclasses import dataclass

from optimiser.model.answer import Effort, Status
from optimiser.model.problem import Problem
from optimiser.search.branch_and_bound import BranchAndBound
from optimiser.search.control import Control, Stopped, TreeProgress
from optimiser.search.evaluator import Runs
from optimiser.search.objective import Judge, Objective
from optimiser.search.space.problem_data import workshop
from optimiser.search.tree.roots import shapes
from optimiser.search.warm_up import warm_up


@dataclass(frozen=True, slots=True)
class Explored:
    """How far an exploration came.

    Parameters
    ----------
    stopped : why it ended early; None when nothing that is wanted is left.
    proven : whether nothing that is wanted is left, and the model could answer for every stack.
    effort : what it cost.
    """

    stopped: Status | None
    proven: bool
    effort: Effort


def explore(
    problem: Problem,
    objective: Objective,
    *,
    most_changes: int,
    control: Control[TreeProgress] | None = None,
    settings: tuple[int, ...] | None = None,
) -> Explored:
    """Offer every wanted stack within a number of changes to an objective.

    Parameters
    ----------
    problem : what is in the damper and on the shelf; the goal's windows order the work, and their widths say
        what counts as much.
    objective : says which families are hopeless and which stacks are wanted, and takes those.
    most_changes : most shims out, in or swapped; at least 1.
    control : time limit, interruption, progress and cores; none of them when left out.
    settings : adjuster settings at which stacks are tried; the present one when left out.

    Raises
    ------
    InputError
        When the stack in the damper breaks a rule itself.
    """
    physics, control = problem.physics, control or Control()
    warm_up()
    runs, judge = Runs(physics, cores=control.cores), Judge(problem.goal)
    deadline = control.deadline()
    shop = workshop(problem, runs)
    searches: list[BranchAndBound] = []

    def spent() -> Effort:
        return Effort(
            runs.count + sum(one.runs_apart for one in searches),
            sum(one.tally.families for one in searches),
            sum(one.stacks for one in searches),
        )

    def stop(families_open: int) -> None:
        control.stop_if_asked(deadline)
        effort = spent()
        control.report(TreeProgress(families_open, effort.families, effort.evaluations))

    stopped = None
    try:
        for setting in (physics.setting,) if settings is None else settings:
            searches.append(
                BranchAndBound(
                    shop=shop,
                    runs=runs,
                    goal=problem.goal,
                    stock=problem.stock,
                    setting=setting,
                    stop=stop,
                    cores=control.most_processes,
                    again=False,
                )
            )
            for changes in range(1, most_changes + 1):
                searches[-1].search(
                    shapes(shop, runs, changes, half=judge.share, setting=setting), changes, objective
                )
    except Stopped as early:
        stopped = early.status
    finally:
        for search in searches:
            search.close()
    unjudged = any(search.tally.unjudged for search in searches)
    return Explored(stopped, stopped is None and not unjudged, spent())
