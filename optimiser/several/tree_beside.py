"""The tree of one stack that takes several changes while each of some others takes one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from damping_model.stack.stack import Stack
from optimiser.model.answer import Effort
from optimiser.model.open_stacks import DamperProblem
from optimiser.search.branch_and_bound import BranchAndBound
from optimiser.search.control import Control, Progress
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Tolerant
from optimiser.search.space.problem_data import problem_data
from optimiser.search.spot_check import SpotCheck
from optimiser.search.tree.roots import shapes
from optimiser.several.beside import BesideObjective
from optimiser.several.found import Found
from optimiser.several.sums import Sums

DRAWN: Final = 40
"""Stacks of a tree that are drawn for a check. [-]"""


@dataclass(frozen=True, slots=True)
class BesideOutcome:
    """What came of a tree.

    Parameters
    ----------
    effort : what it cost.
    unanswered : stacks that the model had no answer for.
    drawn : some stacks of the tree, drawn at random.
    """

    effort: Effort
    unanswered: tuple[Stack, ...]
    drawn: tuple[Stack, ...]


def search_beside(
    problem: DamperProblem,
    place: int,
    changes: int,
    sums: Sums,
    *,
    metrics: GoalMetrics,
    found: Found,
    control: Control[Progress],
    stop: Callable[[int], None],
) -> BesideOutcome:
    """Judge every stack with just so many changes that meets a goal beside one change of others.

    Parameters
    ----------
    problem : the damper.
    place : of the stack that takes several changes.
    changes : how many.
    sums : of one change in each of the others.
    metrics, found : of the goal, and what is found.
    control, stop : cores, and what ends it; told how many families are open.

    Raises
    ------
    Stopped
        From ``stop``; what was found until then has been kept.
    """
    one = problem.open_stacks[place]
    alone = problem.alone(place, stock=problem.beside(place, changes=1))
    evaluator = Evaluator(Tolerant(one.physics), cores=control.cores)
    data = problem_data(alone, evaluator)
    silent = ~np.array(one.has_say)
    chosen = sums.left(metrics.limits_within(found.error_to_beat), open_at=~silent)
    objective = BesideObjective(place, sums, chosen, metrics=metrics, found=found, silent=silent)
    kinds = shapes(
        data,
        evaluator,
        changes,
        relative_half_width=metrics.relative_half_width,
        setting=found.setting,
    )
    search = BranchAndBound(
        data=data,
        evaluator=evaluator,
        goal=alone.goal,
        stock=alone.stock,
        setting=found.setting,
        stop=stop,
        cores=control.most_processes,
        again=False,
    )
    try:
        if len(chosen):
            search.search(kinds, changes, objective)
        drawn = SpotCheck(search.tree).draw(kinds, changes, count=DRAWN)
        effort = Effort(
            evaluator.evaluations + search.worker_evaluations, search.count.families, search.stacks
        )
        return BesideOutcome(effort, search.count.unanswered, tuple(drawn))
    finally:
        search.close()
