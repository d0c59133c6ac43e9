"""What each shim out and each shim in does on its own, measured by the physics."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model.rules import violations
from optimiser.model.stock import ShimKey
from tests.benchmarks.rivals.rival_evaluator import RivalEvaluator
from tests.helpers.brute_force import Name


@dataclass(frozen=True)
class Step:
    """A shim that leaves, or one that comes.

    Parameters
    ----------
    key : its type.
    place : of the shim that leaves, or of the old shim that the new one goes in front of.
    most : how many alike may leave or come there.
    effect : what one of them does to the forces. [N]
    """

    key: ShimKey
    place: int
    most: int
    effect: NDArray[np.float64]


@dataclass(frozen=True)
class Sensitivities:
    """Forces of the stack as it is, and what each step adds."""

    before: NDArray[np.float64]
    outs: tuple[Step, ...]
    ins: tuple[Step, ...]


def measured(evaluator: RivalEvaluator) -> Sensitivities:
    """One run of the physics for each step that keeps the rules, alone or beside one shim out.

    A stack with a single step need not be one that may be built: a shim that leaves may only do so because
    another comes. Steps that the physics has no answer for are left out.
    """
    question = evaluator.question
    before = _forces(evaluator, evaluator.old)
    if before is None:
        return Sensitivities(np.zeros(0), (), ())
    outs = [(place, len(list(alike))) for place, alike in _alike(evaluator.old)]
    types = sorted({*evaluator.old, *question.stock.fitting(inner=evaluator.old[0].inner)})
    out_steps, in_steps, seen = [], [], {evaluator.old}
    for place, count in outs:
        forces = _forces(evaluator, _without(evaluator.old, place))
        if forces is not None:
            most = min(count, question.most_changes)
            out_steps.append(Step(evaluator.old[place], place, most, forces - before))
    for key in types:
        most = min(question.stock.count(key) + evaluator.old.count(key), question.most_changes)
        for place in range(len(evaluator.old) + 1):
            name = with_steps(evaluator.old, [], [(key, place)])
            if name in seen or not _may_help(evaluator, key, place, [out for out, _ in outs]):
                continue
            seen.add(name)
            forces = _forces(evaluator, name)
            if forces is not None:
                in_steps.append(Step(key, place, most, forces - before))
    return Sensitivities(before, tuple(out_steps), tuple(in_steps))


def with_steps(old: Name, leaving: list[int], coming: list[tuple[ShimKey, int]]) -> Name:
    """The stack after several steps; those that come to one place lie there in order of size."""
    made: list[ShimKey] = []
    for place in range(len(old) + 1):
        made += sorted((key for key, where in coming if where == place), reverse=True)
        if place < len(old) and place not in leaving:
            made.append(old[place])
    return tuple(made)


def _alike(name: Name) -> list[tuple[int, list[ShimKey]]]:
    """Neighbours of one type, with the place of the first."""
    found, place = [], 0
    for _, group in groupby(name):
        alike = list(group)
        found.append((place, alike))
        place += len(alike)
    return found


def _without(name: Name, place: int) -> Name:
    return with_steps(name, [place], [])


def _may_help(evaluator: RivalEvaluator, key: ShimKey, place: int, outs: list[int]) -> bool:
    """Whether the rules, heights aside, allow a shim there, if need be with another one gone."""
    for leaving in ([], *([out] for out in outs)):
        evaluator.check_budget()
        name = with_steps(evaluator.old, leaving, [(key, place)])
        made = Stack(tuple(one.shim for one in name))
        if not violations(evaluator.question.rules, made, evaluator.question.mounting):
            return True
    return False


def _forces(evaluator: RivalEvaluator, name: Name) -> NDArray[np.float64] | None:
    """Forces of a stack; one that may be built counts as an answer where it meets the goal."""
    seen = evaluator.evaluate(name) if evaluator.may_be_built(name) else evaluator.probe(name)
    return None if seen is None else seen.forces
