"""Judges any answer about several stacks from plain data: knows no solver, no sum and no bound.

Forces come from the whole circuit with all stacks in place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE, MILLIMETRE
from optimiser.model import rank
from optimiser.model.answer import Change, Status
from optimiser.model.certificate import FORCE_TOLERANCE
from optimiser.model.damper_answer import DamperAnswer, DamperCandidate, order
from optimiser.model.edits import difference, rebuilt
from optimiser.model.open_stacks import DamperProblem, OpenStack
from optimiser.model.rules import rules_for


def whole_faults(answer: DamperAnswer, problem: DamperProblem) -> tuple[str, ...]:
    """Everything in an answer that does not hold, in words; empty when all of it does.

    Parameters
    ----------
    answer : what a search claims.
    problem : what it was asked; the whole circuit is asked afresh for the forces of all stacks together.
    """
    wrong: list[str] = []
    for number, one in enumerate(answer.candidates, 1):
        found = list(_faults(one, problem))
        if rank.misfit(problem.goal, np.asarray(one.forces)) > FORCE_TOLERANCE:
            found.append("its forces leave the windows")
        if one.number_of_changes <= answer.proven_too_few:
            found.append(f"it takes {one.number_of_changes} changes, which the answer calls too few")
        objection = problem.whole.objection(one.stacks, one.setting)
        if objection is not None:
            found.append(f"it is listed although {objection.value}")
        wrong += [f"candidate {number}: {words}" for words in found]
    if answer.nearest is not None:
        wrong += [f"nearest: {words}" for words in _faults(answer.nearest, problem)]
    present = problem.setting
    if list(answer.candidates) != sorted(answer.candidates, key=lambda one: order(one, present=present)):
        wrong.append("the candidates are not in order")
    if len({(one.stacks, one.setting) for one in answer.candidates}) < len(answer.candidates):
        wrong.append("a candidate stands twice")
    if answer.status is Status.PROVEN_IMPOSSIBLE and answer.candidates:
        wrong.append("it is called impossible and has candidates")
    if answer.status is Status.PROVEN_LEAST:
        least = answer.candidates[0].number_of_changes if answer.candidates else None
        if least is None or answer.proven_too_few != least - 1:
            wrong.append(f"{least} is called the least, and {answer.proven_too_few} proven too few")
    return tuple(wrong)


def _faults(one: DamperCandidate, problem: DamperProblem) -> Iterator[str]:
    """Everything about some stacks together that does not hold, whether they meet the goal or not."""
    for place, new, steps in zip(problem.open_stacks, one.stacks, one.changes, strict=True):
        yield from (f"'{place.name}' {words}" for words in _faults_of_one(place, new, steps))
    for key, missing in problem.lacking(one.stacks).items():
        yield f"it takes {missing} of {key} more than the shelf has"
    for group in problem.coupled:
        names = [problem.open_stacks[place].name for place in one.changed]
        if len(set(names) & set(group)) > 1:
            yield f"it changes {' and '.join(group)}, whose forces do not add"
    if one.assemblies != problem.assemblies(one.stacks):
        yield f"it says {one.assemblies} assemblies and opens {problem.assemblies(one.stacks)}"
    fresh = problem.whole.forces(one.stacks, one.setting)
    claimed = np.asarray(one.forces)
    if claimed.shape != fresh.shape or not np.allclose(claimed, fresh, rtol=FORCE_TOLERANCE, atol=1e-9):
        yield "its forces are not those of the whole circuit"
    again = problem.candidate(one.stacks, setting=one.setting, forces=claimed)
    for words, said, figure in (
        ("misfit", one.misfit, again.misfit),
        ("error on target", one.target_error, again.target_error),
        ("change elsewhere", one.change_elsewhere, again.change_elsewhere),
    ):
        if abs(said - figure) > FORCE_TOLERANCE:
            yield f"its {words} is {said:.6g}, worked out again {figure:.6g}"


def _faults_of_one(place: OpenStack, new: Stack, steps: Sequence[Change]) -> Iterator[str]:
    """What does not hold of one of the stacks."""
    old = place.stack
    if new == old:
        if steps:
            yield "stays, and steps are given for it"
        return
    for rule in rules_for(old, place.mounting):
        yield from rule.violations(new, place.mounting)
    if not place.least_height - MICROMETRE / 2 <= new.height <= place.most_height + MICROMETRE / 2:
        yield f"is {new.height / MILLIMETRE:.3f} mm high, outside its range"
    if difference(old, new).changes != len(steps):
        yield f"takes {difference(old, new).changes} changes, said {len(steps)}"
    if rebuilt(old, steps) != new:
        yield "has steps that do not lead to it"
