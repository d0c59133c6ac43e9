"""The least work over all open stacks of a damper: more changes in fewer assemblies may take less of it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

from optimiser.model.answer import Status
from optimiser.model.damper_answer import DamperAnswer, order
from optimiser.model.open_stacks import DamperProblem
from optimiser.search import Control, Progress
from optimiser.several.solve_whole import solve_whole


class LeastWork(NamedTuple):
    """What a search for the least work found.

    Parameters
    ----------
    answer : the fewest changes, and beside them what takes less time with more of them.
    closed : whether nothing is left that takes less time than the least of them, and than what was asked.
    """

    answer: DamperAnswer
    closed: bool


def solve_least_work(
    problem: DamperProblem,
    *,
    most_changes: int,
    control: Control[Progress],
    under: float = math.inf,
    wanted: int = 10,
    setting: int | None = None,
) -> LeastWork:
    """The fewest changes that meet a goal; where they open several assemblies, what takes less time, too.

    Parameters
    ----------
    problem, most_changes, control, wanted, setting : as those of
        :func:`optimiser.several.solve_whole.solve_whole`.
    under : of no interest is what takes as long as this, or longer. [s]
    """
    deadline, fewest = control.deadline(), problem.fewest_opened
    every = range(len(problem.open_stacks))
    most_opened = problem.opened(every)

    def search(changes: int, assemblies: int) -> DamperAnswer:
        return solve_whole(
            problem,
            most_changes=changes,
            control=control.left(deadline),
            wanted=wanted,
            setting=setting,
            most_assemblies=assemblies,
        )

    def over_all(found: DamperAnswer) -> DamperAnswer:
        """What was only looked for in few assemblies, with what fewer changes do in more of them."""
        proven = 1 if all(problem.opened([place]) <= opened for place in every) else 0
        if opened == most_opened or not found.candidates or found.proven_too_few <= proven:
            return found
        whole = search(found.candidates[0].number_of_changes - 1, most_opened)
        ruled_out = whole.status is Status.PROVEN_IMPOSSIBLE
        return replace(
            _together(found, whole, problem),
            status=Status.PROVEN_LEAST if ruled_out else whole.status,
            proven_too_few=whole.proven_too_few,
            closest_proven=False,
        )

    worth = _most(most_changes, lambda changes: _least_time(problem, fewest, changes) < under)
    opened = _most(most_opened, lambda assemblies: _least_time(problem, assemblies, 1) < under)
    found = latest = search(worth, max(opened, fewest))
    least = under
    while latest.candidates:
        least = min(least, *map(problem.time, latest.candidates))
        same = [one for one in latest.candidates if one.number_of_changes == latest.proven_too_few + 1]
        if not same:
            return LeastWork(over_all(found), closed=False)
        fewer = min(one.assemblies for one in same) - 1
        more = _most(worth, lambda changes: _least_time(problem, fewest, changes) < least)  # noqa: B023
        if fewer < fewest or more <= latest.proven_too_few:
            return LeastWork(over_all(found), closed=True)
        worth, latest = more, search(more, fewer)
        found = _together(found, latest, problem)
    return LeastWork(over_all(found), closed=latest.proven_too_few >= worth)


def _least_time(problem: DamperProblem, assemblies: int, changes: int) -> float:
    """Least that so many changes in so many assemblies take, or more of them where it takes more. [s]"""
    anyway = len(set(problem.open_anyway))
    return problem.times.of(assemblies=assemblies, changes=max(changes, assemblies - anyway))


def _most(limit: int, worth_it: Callable[[int], bool]) -> int:
    """The largest number that is worth it, 0 where none is."""
    return next((number for number in range(limit, 0, -1) if worth_it(number)), 0)


def _together(found: DamperAnswer, further: DamperAnswer, problem: DamperProblem) -> DamperAnswer:
    """An answer with what a search of fewer assemblies found besides."""
    known = {(one.stacks, one.setting) for one in found.candidates}
    new = [one for one in further.candidates if (one.stacks, one.setting) not in known]
    candidates = sorted((*found.candidates, *new), key=lambda one: order(one, present=problem.setting))
    return replace(
        found,
        candidates=tuple(candidates),
        effort=found.effort + further.effort,
        left_out=found.left_out + further.left_out,
        unanswered=found.unanswered + further.unanswered,
    )
