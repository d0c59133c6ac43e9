"""What clicks alone do: the stack as it is, judged at every setting of the adjusters."""

from __future__ import annotations

from optimiser.errors import InputError
from optimiser.model.answer import Candidate
from optimiser.model.problem import Problem
from optimiser.search.evaluator import Evaluator
from optimiser.search.objections import Objections


def unchanged_stack(evaluator: Evaluator, problem: Problem, objections: Objections) -> list[Candidate]:
    """The stack as it is, at every setting of the adjusters against which nothing speaks.

    Raises
    ------
    InputError
        When the model has no answer for it, or its oil would boil as it is.
    """
    packed = evaluator.physics.packed(problem.stack)
    candidates = [
        problem.candidate(problem.stack, setting=setting, forces=forces)
        for setting in range(len(evaluator.physics.settings))
        if (forces := evaluator.exact_forces(packed, setting)) is not None
    ]
    if not candidates:
        raise InputError("The model finds no equilibrium for the stack in the damper. Check its dimensions.")
    standing = [one for one in candidates if objections.none_to(one)]
    present = evaluator.physics.setting
    if not standing or any(one.setting == present for one in candidates if one not in standing):
        raise InputError(
            "The oil of the damper as it is would boil inside a band of the goal, so its figures promise "
            "nothing there. Check the gas pressure, or end the band earlier."
        )
    return standing
