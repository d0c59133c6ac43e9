"""Which shims leave and come, as the constraint solver sees it: effects of single steps, added up."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import combinations_with_replacement, pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray
from ortools.sat.python import cp_model

from optimiser.model import rank
from optimiser.model.goal import LEAST_FORCE, Role
from optimiser.model.stock import ShimKey
from tests.benchmarks.rivals.question import Question
from tests.benchmarks.rivals.recorder import Spent
from tests.benchmarks.rivals.sensitivities import Sensitivities, Step

FORCE_SCALE: Final = 1000.0
"""The solver counts in whole numbers: thousandths of a newton. [1/N]"""

ERROR_SCALE: Final = 10**6
"""And millionths of the desired force. [-]"""

MOST_ERROR: Final = 50 * ERROR_SCALE
"""No change in these jobs multiplies a force by so much. [-]"""

SEED: Final = 1

Steps = tuple[int, ...]
"""Numbers of steps; one that is taken twice stands twice."""


class LinearModel:
    """The solver's model for one width of the windows.

    Parameters
    ----------
    question : the job.
    effects : of the single steps.
    widened : half-widths by which the windows are wider than asked. [-]
    """

    def __init__(self, question: Question, effects: Sensitivities, widened: float) -> None:
        self._question, self._effects = question, effects
        self._model = cp_model.CpModel()
        self._outs = self._copies(effects.outs, "out")
        self._ins = self._copies(effects.ins, "in")
        self._every = [
            (step, sign, var)
            for steps, made, sign in ((effects.outs, self._outs, -1), (effects.ins, self._ins, 1))
            for step, copies in zip(steps, made, strict=True)
            for var in copies
        ]
        self._changes = self._model.new_int_var(1, question.most_changes, "changes")
        for steps in (self._outs, self._ins):
            self._model.add(sum(var for copies in steps for var in copies) <= self._changes)
        self._shelf()
        self._height()
        self._windows(widened)
        self._model.minimize(self._changes * 2 * MOST_ERROR + self._error())

    def solved(self, seconds: float) -> tuple[Steps, Steps] | None:
        """Steps out and steps in that seem to do with the fewest changes, then closest to the target, or none.

        Parameters
        ----------
        seconds : that are left.

        Raises
        ------
        Spent
            When that was not enough to find any.
        """
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = SEED
        # by the wall's clock, and ours is the processor's: a busy machine must not look like "no more steps"
        solver.parameters.max_time_in_seconds = max(4 * seconds, 0.01)
        status = solver.solve(self._model)
        if status == cp_model.UNKNOWN:
            raise Spent
        if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            return None
        outs, ins = (
            tuple(n for n, copies in enumerate(steps) for var in copies if solver.boolean_value(var))
            for steps in (self._outs, self._ins)
        )
        return outs, ins

    def at_most(self, changes: int) -> None:
        """Ask only for so many changes."""
        self._model.add(self._changes <= changes)

    def forbid(self, outs: Steps, ins: Steps) -> None:
        """Never give exactly these steps again."""
        self._model.add_bool_or(self._other_than(outs, self._outs) + self._other_than(ins, self._ins))

    def sets_of_outs(self) -> list[Steps]:
        """Every choice of shims out that is allowed."""
        steps = self._effects.outs
        return [
            chosen
            for size in range(self._question.most_changes + 1)
            for chosen in combinations_with_replacement(range(len(steps)), size)
            if all(count <= steps[n].most for n, count in Counter(chosen).items())
        ]

    @staticmethod
    def _other_than(chosen: Steps, steps: Sequence[Sequence[cp_model.IntVar]]) -> list[cp_model.LiteralT]:
        """At least one of these is true when other steps are chosen; copies of a step are taken in order."""
        counts = Counter(chosen)
        literals: list[cp_model.LiteralT] = []
        for number, copies in enumerate(steps):
            count = counts[number]
            if count:
                literals.append(copies[count - 1].negated())
            if count < len(copies):
                literals.append(copies[count])
        return literals

    def _copies(self, steps: Sequence[Step], kind: str) -> list[list[cp_model.IntVar]]:
        made = []
        for number, step in enumerate(steps):
            copies = [self._model.new_bool_var(f"{kind} {number}.{k}") for k in range(step.most)]
            for one, after in pairwise(copies):
                self._model.add_implication(after, one)
            made.append(copies)
        return made

    def _shelf(self) -> None:
        balance: dict[ShimKey, list[cp_model.LinearExprT]] = {}
        for step, sign, var in self._every:
            balance.setdefault(step.key, []).append(sign * var)
        for key in {step.key for step in self._effects.ins}:
            self._model.add(sum(balance[key]) <= self._question.stock.count(key))

    def _height(self) -> None:
        goal = self._question.goal
        now = sum(round(shim.thickness * 1e6) for shim in self._question.stack.shims)
        grown = sum(sign * step.key.thickness * var for step, sign, var in self._every)
        self._model.add(grown + now >= round(goal.least_height * 1e6))
        self._model.add(grown + now <= round(goal.most_height * 1e6))

    def _force(self, place: int, scale: float) -> cp_model.LinearExprT:
        """Scaled difference of the force at one velocity from that of the stack as it is."""
        return sum(round(float(step.effect[place]) * scale) * var for step, _, var in self._every)

    def _windows(self, widened: float) -> None:
        goal, before = self._question.goal, self._effects.before
        room = widened * rank.half_widths(goal)
        for place, (low, high) in enumerate(
            zip(goal.lower - room - before, goal.upper + room - before, strict=True)
        ):
            force = self._force(place, FORCE_SCALE)
            self._model.add(force >= round(float(low) * FORCE_SCALE))
            self._model.add(force <= round(float(high) * FORCE_SCALE))

    def _error(self) -> cp_model.IntVar:
        goal, before = self._question.goal, self._effects.before
        error = self._model.new_int_var(0, MOST_ERROR, "error")
        scale: NDArray[np.float64] = ERROR_SCALE / np.maximum(np.abs(goal.desired), LEAST_FORCE)
        for place in np.flatnonzero(rank.role_mask(goal, Role.TARGET)):
            now = round(float((before - goal.desired)[place] * scale[place]))
            off = self._force(int(place), float(scale[place])) + now
            self._model.add(error >= off)
            self._model.add(error >= -off)
        return error
