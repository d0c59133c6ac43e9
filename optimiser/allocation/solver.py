"""The constraint solver, set up so that the same question has the same answer every time."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


@dataclass(frozen=True, slots=True)
class InTurn:
    """What came of several objectives, settled one after another.

    Parameters
    ----------
    solver : holds the values of the last solution; None where there is none at all.
    proven : whether each objective is proven least, those before it held.
    """

    solver: cp_model.CpSolver | None
    proven: bool


def least_in_turn(
    model: cp_model.CpModel, objectives: Iterable[cp_model.LinearExprT], *, seconds: float
) -> InTurn:
    """Make each objective as small as can be, those before it held [1]_.

    Parameters
    ----------
    model : gets a bound for each objective.
    objectives : whole-numbered, the first first.
    seconds : for each; what is not settled by then stands unproven. [s]

    References
    ----------
    .. [1] M. Ehrgott, *Multicriteria Optimization*, 2nd ed., Springer 2005, ch. 5: lexicographic optimality.
    """
    from ortools.sat.python import cp_model

    last: cp_model.CpSolver | None = None
    proven = True
    for objective in objectives:
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        model.minimize(objective)
        status = solver.solve(model)
        if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            # What an objective before found stands where the time ends before anything is found again.
            return InTurn(last, proven=last is None and status == cp_model.INFEASIBLE)
        last, proven = solver, proven and status == cp_model.OPTIMAL
        model.add(objective <= round(solver.objective_value))
    return InTurn(last, proven)
