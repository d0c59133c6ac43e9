"""The baseline: each stack searched by itself, and the pairs of one change each by enumeration.

A pair is judged by the exact forces of either stack with the other as it is, which add. Ways to take two
changes in one stack and one in another are left out: hundreds of thousands of stacks take two.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from optimiser.model.open_stacks import DamperProblem
from optimiser.search import Control, Progress, solve
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.several.rows import misfits
from optimiser.studies.single_changes import single_changes

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class OneByOne:
    """What the baseline came to.

    Parameters
    ----------
    least : fewest changes that were found to do; None where none were.
    too_few : so many were shown not to do, by one stack or by a pair of one change each.
    """

    least: int | None
    too_few: int


def one_by_one(problem: DamperProblem, *, most_changes: int, control: Control[Progress]) -> OneByOne:
    """Search each stack by itself, and try every pair."""
    able = [place for place, one in enumerate(problem.open_stacks) if any(one.has_say)]
    answers = {
        place: solve(
            problem.alone(place),
            most_changes=most_changes,
            control=control,
            wanted=4,
            settings=(problem.setting,),
            find_nearest=False,
        )
        for place in able
    }
    found = [len(one.candidates[0].changes) for one in answers.values() if one.candidates]
    too_few = min(one.proven_too_few for one in answers.values())
    if most_changes > 1 and (not found or min(found) > 1):
        metrics = GoalMetrics(problem.goal)
        lists = {place: _changes(problem, place, control) for place in able}
        pairs = [pair for pair in combinations(able, 2) if problem.go_together(*pair)]
        if any(_pair_does(problem, metrics, pair, lists) for pair in pairs):
            found.append(2)
    least = min(found, default=None)
    return OneByOne(least, too_few if least is None else min(too_few, least - 1))


@dataclass(frozen=True)
class _Changes:
    stacks: list[Stack]
    added: Floats


def _changes(problem: DamperProblem, place: int, control: Control[Progress]) -> _Changes:
    """Every stack one change away, and what each adds to the force. [N]"""
    one, before = problem.open_stacks[place], np.asarray(problem.goal.before)
    evaluator = Evaluator(one.physics, cores=control.cores)
    stacks, plates = [], []
    for stack in single_changes(one.stack, mounting=one.mounting, stock=problem.beside(place, changes=1)):
        if one.least_height - 5e-7 <= stack.height <= one.most_height + 5e-7:
            try:
                plates.append(one.physics.packed(stack))
            except ModelError:
                continue
            stacks.append(stack)
    forces = [evaluator.exact_forces(packed, problem.setting) for packed in plates]
    known = [(stack, found) for stack, found in zip(stacks, forces, strict=True) if found is not None]
    added = np.array([found - before for _, found in known]).reshape(len(known), before.size)
    return _Changes([stack for stack, _ in known], added)


def _pair_does(
    problem: DamperProblem, metrics: GoalMetrics, pair: tuple[int, int], lists: dict[int, _Changes]
) -> bool:
    """Whether one change in each of two stacks meets the goal, and shelf and damper allow it."""
    one, other = (lists[place] for place in pair)
    before = np.asarray(problem.goal.before)
    for stack, added in zip(one.stacks, one.added, strict=True):
        for k in np.flatnonzero(misfits(metrics, before + added + other.added) == 0).tolist():
            stacks = list(problem.present)
            stacks[pair[0]], stacks[pair[1]] = stack, other.stacks[k]
            allowed = problem.shelf_allows(stacks)
            if allowed and problem.whole.objection(stacks, problem.setting) is None:
                return True
    return False
