"""Good loosenings early: the primal heuristic is sent after goals that are loosened by less and less.

It proves nothing. It gives the search incumbents to prune by, and an answer where the time is short.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from optimiser.model.answer import Candidate
from optimiser.model.goal import Goal
from optimiser.model.problem import Problem
from optimiser.search import Control, TreeProgress
from optimiser.search.control import Stopped
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Objections
from optimiser.search.primal.neighbourhood import PrimalHeuristic
from optimiser.search.space.members import Members
from optimiser.search.space.problem_data import problem_data
from optimiser.search.tree.roots import shapes
from optimiser.studies.loosenable import Loosenable
from optimiser.studies.loosening_objective import SmallestLoosenings

PARTS: Final = (0.5, 0.8)
"""Parts of the smallest loosening so far that the heuristic is sent after, the boldest first. [-]"""

MOST_TIMES: Final = 3
"""Times that it goes on after it has found a smaller one. [-]"""


def promising(
    problem: Problem,
    loosenable: Sequence[Loosenable],
    *,
    most_changes: int,
    known: Sequence[Candidate],
    settings: Sequence[int],
    control: Control[TreeProgress],
) -> list[Candidate]:
    """Stacks that miss one window alone, and that by little.

    Parameters
    ----------
    problem, loosenable, most_changes, control : as for the search, see
        :func:`optimiser.studies.loosenings.loosenings`.
    known : where it begins, the stack as it is at other clicks among them.
    settings : adjuster settings at which changed stacks are tried.
    """
    objective = SmallestLoosenings(problem.goal, loosenable)
    for one in known:
        if objective.accepts(np.asarray(one.forces)):
            objective.record(one)
    objections = Objections(problem.physics)
    evaluator, deadline = Evaluator(problem.physics, cores=control.cores), control.deadline()
    data = problem_data(problem, evaluator)
    members = Members(data, problem.goal)
    share = GoalMetrics(problem.goal).relative_half_width
    found: list[Candidate] = []
    try:
        for setting in settings:
            shape = shapes(data, evaluator, 1, relative_half_width=share, setting=setting)[0]
            for changes in range(min(2, most_changes), most_changes + 1):  # one change is soon closed
                for goal in _bolder_and_bolder(problem.goal, loosenable, objective):
                    heuristic = PrimalHeuristic(
                        shape,
                        evaluator=evaluator,
                        metrics=GoalMetrics(goal),
                        setting=setting,
                        buildable=members.buildable,
                    )
                    for number in range(1, changes + 1):
                        for stack, forces in heuristic.with_changes(number):
                            control.stop_if_asked(deadline)
                            if not objective.accepts(forces):
                                continue
                            one = problem.candidate(stack, setting=setting, forces=forces)
                            if len(one.changes) <= changes and objections.none_to(one):
                                found.append(one)
                                objective.record(one)
                        control.stop_if_asked(deadline)
    except Stopped:
        pass
    return found


def _bolder_and_bolder(
    goal: Goal, loosenable: Sequence[Loosenable], objective: SmallestLoosenings
) -> Iterator[Goal]:
    """Goals with one window loosened by less than was needed so far; again while that finds something."""
    for one in loosenable:
        for part in PARTS:
            for _ in range(MOST_TIMES):
                best = objective.best.get(one.place)
                value = one.least if abs(one.least - one.present) > abs(one.most - one.present) else one.most
                value = value if best is None else best.value
                window = one.at(one.present + part * (value - one.present))
                yield replace(
                    goal, windows=(*goal.windows[: one.place], window, *goal.windows[one.place + 1 :])
                )
                if objective.best.get(one.place) is best:
                    break
