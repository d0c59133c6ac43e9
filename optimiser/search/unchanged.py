"""What clicks alone do: the stack as it is, judged at every setting of the adjusters."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from optimiser.errors import InputError
from optimiser.model.answer import Candidate
from optimiser.model.objection import Objection
from optimiser.model.problem import Problem
from optimiser.search.evaluator import Evaluator
from optimiser.search.objections import Objections


class Unchanged(NamedTuple):
    """The stack as it is, at settings of the adjusters.

    Parameters
    ----------
    candidates : at every setting at which the model has an answer, or against which nothing speaks either.
    unsure : at the present setting, where it lacks the chance that was asked.
    unanswered : settings at which the model has none.
    """

    candidates: list[Candidate]
    unanswered: tuple[int, ...]
    unsure: tuple[Candidate, ...] = ()


def at_every_setting(evaluator: Evaluator, problem: Problem) -> Unchanged:
    """The stack as it is at every setting of the adjusters, whatever speaks against it."""
    packed = evaluator.physics.packed(problem.stack)
    forces = [evaluator.exact_forces(packed, place) for place in range(len(evaluator.physics.settings))]
    candidates = [
        problem.candidate(problem.stack, setting=setting, forces=one)
        for setting, one in enumerate(forces)
        if one is not None
    ]
    return Unchanged(candidates, tuple(place for place, one in enumerate(forces) if one is None))


def unchanged_stack(evaluator: Evaluator, problem: Problem, objections: Objections) -> Unchanged:
    """The stack as it is at every setting of the adjusters against which nothing speaks.

    Raises
    ------
    InputError
        When the model has no answer for it, or its oil would boil as it is.
    """
    candidates, unanswered, _ = at_every_setting(evaluator, problem)
    if not candidates:
        raise InputError("The model finds no equilibrium for the stack in the damper. Check its dimensions.")
    standing = [one for one in candidates if objections.none_to(one)]
    present = evaluator.physics.setting
    here = next((one for one in candidates if one.setting == present and one not in standing), None)
    if here is not None and objections.to(here) is Objection.UNSURE:
        unsure = replace(here, objection=Objection.UNSURE)
        return Unchanged(standing, unanswered, (unsure,))
    if here is not None or not standing:
        raise InputError(
            "The oil of the damper as it is would boil inside a band of the goal, so its figures promise "
            "nothing there. Check the gas pressure, or end the band earlier."
        )
    return Unchanged(standing, unanswered)
