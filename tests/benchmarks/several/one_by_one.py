"""The baseline: each stack searched by itself, and what two stacks do together by enumeration.

Two are judged by the exact forces of either stack with the other as it is, which add: one change in each, and
with three changes two in one and one in the other. Of the latter there are hundreds of thousands of stacks, so
it may be told when to stop.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import islice, permutations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from optimiser.model.edits import keys_of, stack_of
from optimiser.model.open_stacks import DamperProblem, OpenStack
from optimiser.model.rules import rules_for, violations
from optimiser.search import Control, Progress, solve
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.several.rows import misfits
from optimiser.studies.single_changes import single_changes
from tests.benchmarks.rivals.exhaustive import of_changes

Floats = NDArray[np.float64]

AT_ONCE: Final = 256
"""Stacks whose forces are asked before it is seen whether to go on. [-]"""


@dataclass(frozen=True)
class OneByOne:
    """What the baseline came to.

    Parameters
    ----------
    least : fewest changes that were found to do; None where none were.
    too_few : so many were shown not to do.
    finished : whether it came to its end.
    """

    least: int | None
    too_few: int
    finished: bool


def one_by_one(
    problem: DamperProblem,
    *,
    most_changes: int,
    control: Control[Progress],
    goes_on: Callable[[], bool] = lambda: True,
) -> OneByOne:
    """Search each stack by itself, and try every pair.

    Parameters
    ----------
    problem, most_changes, control : as for the search over all stacks; three changes at most.
    goes_on : asked now and then while two changes in one stack are tried beside one in another.
    """
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
    finished = True
    if most_changes > 1 and (not found or min(found) > 1):
        metrics = GoalMetrics(problem.goal)
        lists = {place: _changes(problem, place, control) for place in able}
        pairs = [pair for pair in permutations(able, 2) if problem.go_together(*pair)]
        if any(
            _pair_does(problem, metrics, pair, lists[pair[0]], lists) for pair in pairs if pair[0] < pair[1]
        ):
            found.append(2)
        elif most_changes > 2 and not found:
            does = _two_and_one_do(problem, metrics, pairs, lists, control, goes_on)
            finished = does is not None
            found += [3] if does else []
    least = min(found, default=None)
    shown = too_few if finished else min(too_few, 2)
    return OneByOne(least, shown if least is None else min(shown, least - 1), finished)


def _two_and_one_do(
    problem: DamperProblem,
    metrics: GoalMetrics,
    pairs: Sequence[tuple[int, int]],
    lists: Mapping[int, _Changes],
    control: Control[Progress],
    goes_on: Callable[[], bool],
) -> bool | None:
    """Whether two changes in one stack beside one in another meet the goal; None when it was to stop."""
    for place in sorted({pair[0] for pair in pairs}):
        evaluator = Evaluator(problem.open_stacks[place].physics, cores=control.cores)
        stacks = _two_changes_away(problem, place)
        while some := list(islice(stacks, AT_ONCE)):
            if not goes_on():
                return None
            twos = _asked(problem, evaluator, some)
            if any(_pair_does(problem, metrics, pair, twos, lists) for pair in pairs if pair[0] == place):
                return True
    return False


def _two_changes_away(problem: DamperProblem, place: int) -> Iterator[Stack]:
    """Every stack two changes away that may be built, each once."""
    one = problem.open_stacks[place]
    old, rules = keys_of(one.stack), rules_for(one.stack, one.mounting)
    types = sorted({*old, *problem.beside(place, changes=1).fitting(inner=old[0].inner)})
    seen = {old}
    for name in of_changes(old, types, 2):
        if name not in seen:
            seen.add(name)
            stack = stack_of(name)
            if _fits(one, stack) and not violations(rules, stack, one.mounting):
                yield stack


@dataclass(frozen=True)
class _Changes:
    stacks: list[Stack]
    added: Floats


def _changes(problem: DamperProblem, place: int, control: Control[Progress]) -> _Changes:
    """Every stack one change away, and what each adds to the force. [N]"""
    one = problem.open_stacks[place]
    evaluator = Evaluator(one.physics, cores=control.cores)
    stacks = [
        stack
        for stack in single_changes(one.stack, mounting=one.mounting, stock=problem.beside(place, changes=1))
        if _fits(one, stack)
    ]
    return _asked(problem, evaluator, stacks)


def _fits(one: OpenStack, stack: Stack) -> bool:
    """Whether a stack is as high as it may be."""
    return one.least_height - 5e-7 <= stack.height <= one.most_height + 5e-7


def _asked(problem: DamperProblem, evaluator: Evaluator, stacks: Sequence[Stack]) -> _Changes:
    """Those of some stacks that have an answer, and what each adds to the force."""
    before, known, forces = np.asarray(problem.goal.before), [], []
    for stack in stacks:
        with suppress(ModelError):
            found = evaluator.exact_forces(evaluator.physics.packed(stack), problem.setting)
            if found is not None:
                known.append(stack)
                forces.append(found - before)
    return _Changes(known, np.array(forces).reshape(len(known), before.size))


def _pair_does(
    problem: DamperProblem,
    metrics: GoalMetrics,
    pair: tuple[int, int],
    one: _Changes,
    lists: Mapping[int, _Changes],
) -> bool:
    """Whether some stacks of the first place meet the goal with one change in the other, and shelf and damper allow it."""
    other, before = lists[pair[1]], np.asarray(problem.goal.before)
    for stack, added in zip(one.stacks, one.added, strict=True):
        for k in np.flatnonzero(misfits(metrics, before + added + other.added) == 0).tolist():
            stacks = list(problem.present)
            stacks[pair[0]], stacks[pair[1]] = stack, other.stacks[k]
            allowed = problem.shelf_allows(stacks)
            if allowed and problem.whole.objection(stacks, problem.setting) is None:
                return True
    return False
