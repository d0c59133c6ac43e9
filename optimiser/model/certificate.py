"""Judges any answer from plain data: knows no solver, no family and no bound."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import numpy as np

from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE, MILLIMETRE
from optimiser.model import rank
from optimiser.model.answer import Answer, Candidate, Status
from optimiser.model.edits import difference, keys_of, rebuilt
from optimiser.model.ladder import LadderRung
from optimiser.model.problem import Problem

FORCE_TOLERANCE = 1e-6
"""Share of the force by which a fresh run of the physics may differ from the force that is claimed. [-]"""


def faults(answer: Answer, problem: Problem) -> tuple[str, ...]:
    """Everything in an answer that does not hold, in words; empty when all of it does.

    Parameters
    ----------
    answer : what a search claims.
    problem : what it was asked; its physics is asked afresh for the forces of every stack in the answer.
    """
    wrong: list[str] = []
    for number, one in enumerate(answer.candidates, 1):
        found = candidate_faults(one, problem)
        if rank.misfit(problem.goal, np.asarray(one.forces)) > FORCE_TOLERANCE:
            found.append("its forces leave the windows")
        if one.objection is not None:
            found.append(f"it is listed although {one.objection.value}")
        if len(one.changes) <= answer.proven_too_few:
            found.append(f"it takes {len(one.changes)} changes, which the answer calls too few")
        wrong += [f"candidate {number}: {words}" for words in found]
    if answer.nearest is not None:
        wrong += [f"nearest: {words}" for words in candidate_faults(answer.nearest, problem)]
    if list(answer.candidates) != rank.in_order(answer.candidates, present=problem.physics.setting):
        wrong.append("the candidates are not in order")
    if len({(c.stack, c.setting) for c in answer.candidates}) < len(answer.candidates):
        wrong.append("a candidate stands twice")
    if answer.status is Status.PROVEN_IMPOSSIBLE and answer.candidates:
        wrong.append("it is called impossible and has candidates")
    if answer.status is Status.PROVEN_LEAST and not answer.candidates:
        wrong.append("it is called proven least and has no candidate")
    if answer.status is Status.PROVEN_LEAST and answer.candidates:
        least = len(answer.candidates[0].changes)
        if answer.proven_too_few != least - 1:
            wrong.append(f"{least} is called the least, and {answer.proven_too_few} proven too few")
    return tuple(wrong)


def rung_faults(rungs: Sequence[LadderRung], problem: Problem) -> tuple[str, ...]:
    """Everything in a ladder that does not hold, in words; see :func:`faults`."""
    wrong: list[str] = []
    for rung in rungs:
        met = [one for idea in rung.ideas for one in idea.every]
        for one in [*met, *([] if rung.nearest is None else [rung.nearest])]:
            found = candidate_faults(one, problem)
            if len(one.changes) != rung.changes:
                found.append(f"it takes {len(one.changes)} changes")
            if (rank.misfit(problem.goal, np.asarray(one.forces)) <= FORCE_TOLERANCE) != (one in met):
                found.append("it stands on the wrong side of the goal")
            wrong += [f"{rung.changes} changes: {words}" for words in found]
        if rung.ideas and rung.nearest is not None:
            wrong.append(f"{rung.changes} changes: the goal is met, and a nearest is named")
    return tuple(wrong)


def candidate_faults(one: Candidate, problem: Problem) -> list[str]:
    """Everything about one stack that does not hold, in words, whether it meets the goal or not."""
    stack, stock, goal, physics = problem.stack, problem.stock, problem.goal, problem.physics
    wrong: list[str] = []
    if one.stack != stack:
        for rule in problem.required_rules:
            wrong += rule.violations(one.stack, problem.mounting)
    needed = Counter(keys_of(one.stack)) - Counter(keys_of(stack))
    wrong += [
        f"it takes {count} of {key} from the shelf, which has {stock.count(key)}"
        for key, count in sorted(needed.items())
        if count > stock.count(key)
    ]
    height = one.stack.height
    if one.stack != stack and not (
        goal.least_height - MICROMETRE / 2 <= height <= goal.most_height + MICROMETRE / 2
    ):
        wrong.append(f"it is {height / MILLIMETRE:.3f} mm high, outside the range asked for")
    least = difference(stack, one.stack).changes
    if least != len(one.changes):
        wrong.append(f"it says {len(one.changes)} changes and takes {least}")
    wrong += _steps_faults(one, stack)
    if physics.objection(one.stack, one.setting) is not one.objection:
        wrong.append("what speaks against it is not what the physics says afresh")
    fresh = physics.forces(physics.packed(one.stack), one.setting)
    claimed = np.asarray(one.forces)
    if claimed.shape != fresh.shape or not np.allclose(claimed, fresh, rtol=FORCE_TOLERANCE, atol=1e-9):
        wrong.append("its forces are not those of a fresh run of the physics")
    figures = (("misfit", one.misfit, rank.misfit), ("error on target", one.target_error, rank.target_error),
               ("change elsewhere", one.change_elsewhere, rank.change_elsewhere))  # fmt: skip
    for words, value, figure in figures:
        again = figure(goal, claimed)
        if abs(value - again) > FORCE_TOLERANCE:
            wrong.append(f"its {words} is {value:.6g}, worked out again {again:.6g}")
    return wrong


def _steps_faults(one: Candidate, stack: Stack) -> list[str]:
    """Whether the steps, done by hand on the old stack, give the new one."""
    by_hand = rebuilt(stack, one.changes)
    if by_hand is None:
        return ["its steps take out a shim that is not there, or put one where no place is"]
    return [] if by_hand == one.stack else ["its steps do not lead to its stack"]
