"""How far a band goes with one change in each of two stacks, all others held: every pair, gone through."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.damper.stack_sums import summed
from damping_model.stack.stack import Stack
from optimiser.errors import FaultError, InputError
from optimiser.model.certificate import FORCE_TOLERANCE
from optimiser.model.damper_answer import DamperCandidate
from optimiser.model.goal import LEAST_FORCE, Goal, mean_weights
from optimiser.model.objection import NONE_LEFT_OUT, LeftOut, Objection
from optimiser.model.open_stacks import DamperProblem
from optimiser.search import Control
from optimiser.search.control import Stopped
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Tolerant
from optimiser.several.one_change import OneChange
from optimiser.several.sums import Sums
from optimiser.studies.farthest import MOST, opened
from optimiser.studies.reach import ReachProgress

Floats = NDArray[np.float64]

NO_WIDER: Final = 1.0
"""Margins of coarse forces are taken as they usually are. [-]"""


@dataclass(frozen=True, slots=True)
class TogetherEnd:
    """The two stacks that move a band furthest to one side.

    Parameters
    ----------
    best : the stacks; None where no pair moves it further than what was known.
    shift : of the band, or what was known. [-]
    proven : whether no pair goes further.
    left_out : pairs that go further and against which something else speaks.
    """

    best: DamperCandidate | None
    shift: float
    proven: bool
    left_out: LeftOut = NONE_LEFT_OUT


class FarthestTogether:
    """One change in each of two stacks, for any band of a goal.

    Parameters
    ----------
    problem : the damper with all its stacks open; its goal has every band held.
    control : its time limit is for each band and side.

    Raises
    ------
    InputError
        When the model has no answer for the damper as it is.
    """

    def __init__(self, problem: DamperProblem, *, control: Control[ReachProgress]) -> None:
        self.problem, self.control = problem, control
        first = problem.open_stacks[0].physics
        before = Evaluator(first).exact_forces(first.packed(problem.present[0]), problem.setting)
        if before is None:
            raise InputError("The model has no answer for the damper as it is.")
        self.before = before
        self._lists: dict[int, OneChange] = {}

    def end(self, place: int, side: int, *, known: float) -> TogetherEnd:
        """Go through the pairs that may move a band further than is known.

        Parameters
        ----------
        place : of the band among the goal's windows.
        side : the least average shift or the most.
        known : how far it goes already. [-]
        """
        goal = opened(self.problem.goal, place)
        search = _OneEnd(self.problem, goal, place, side, known)
        deadline = self.control.deadline()
        name = self.problem.goal.windows[place].name

        def wait() -> None:
            self.control.stop_if_asked(deadline)
            self.control.report(ReachProgress(name, 2, side, search.shift, 0, 0))

        try:
            lists = self._one_change_each(wait)
            for pair in combinations(lists, 2):
                if self.problem.go_together(*pair):
                    both = [lists[one] for one in pair]
                    search.look_at(Sums(GoalMetrics(goal), self.before, both, pair, wait), wait)
            sound = all(one.off_margin <= 1 and not one.unanswered for one in lists.values())
        except Stopped:
            sound = False
        return TogetherEnd(search.best, search.shift, sound, LeftOut.of(search.refused))

    def _one_change_each(self, wait: Callable[[], None]) -> Mapping[int, OneChange]:
        for place, one in enumerate(self.problem.open_stacks):
            if place not in self._lists and any(one.has_say):
                self._lists[place] = OneChange(
                    one,
                    stock=self.problem.beside(place, changes=1),
                    evaluator=Evaluator(Tolerant(one.physics), cores=self.control.cores),
                    setting=self.problem.setting,
                    before=self.before,
                    widening=NO_WIDER,
                    wait=wait,
                )
        return self._lists


class _OneEnd:
    """The furthest of the pairs so far, of one band to one side."""

    def __init__(self, problem: DamperProblem, goal: Goal, place: int, side: int, known: float) -> None:
        self.problem, self.goal, self.side = problem, goal, side
        self.shift = known
        self.best: DamperCandidate | None = None
        self.refused: list[Objection] = []
        _, self._part = goal.parts[place]
        self._weights = mean_weights(goal.windows[place].velocities)
        self._log_before = np.log(np.maximum(goal.before[self._part], LEAST_FORCE))

    def look_at(self, sums: Sums, wait: Callable[[], None]) -> None:
        """Judge every sum that may hold what is held and go further, the furthest first."""
        chosen = sums.left(GoalMetrics(self.goal).limits_within(np.inf))
        if not len(chosen):
            return
        low, high = sums.bounds(chosen)
        bounds = self._shifts(sums.before + (high if self.side == MOST else low))
        for number in np.argsort(-self.side * bounds, kind="stable").tolist():
            if self.side * (bounds[number] - self.shift) <= FORCE_TOLERANCE:
                return
            wait()
            self._hold(sums, chosen[number].tolist())

    def _hold(self, sums: Sums, row: list[int]) -> None:
        stacks = sums.stacks(row, self.problem.present)
        alone = [one.exact(place) for one, place in zip(sums.lists, row, strict=True)]
        if not self.problem.shelf_allows(stacks) or any(one is None for one in alone):
            return
        forces = summed(sums.before, [one for one in alone if one is not None])
        shift = float(self._shifts(forces[None])[0])
        held = (forces >= self.goal.lower).all() and (forces <= self.goal.upper).all()
        if not held or self.side * (shift - self.shift) <= FORCE_TOLERANCE:
            return
        objection = self.problem.whole.objection(stacks, self.problem.setting)
        if objection is not None:
            self.refused.append(objection)
            return
        _refuse_other_forces(self.problem, stacks, forces)
        self.shift = shift
        self.best = self.problem.candidate(stacks, setting=self.problem.setting, forces=forces)

    def _shifts(self, forces: Floats) -> Floats:
        logs = np.log(np.maximum(forces[:, self._part], LEAST_FORCE)) - self._log_before
        return np.asarray(np.expm1(logs @ self._weights))


def _refuse_other_forces(problem: DamperProblem, stacks: tuple[Stack, ...], forces: Floats) -> None:
    """Hold the sum of what two stacks do against the whole circuit with both in place."""
    whole = problem.whole.forces(stacks, problem.setting)
    if not np.allclose(forces, whole, rtol=FORCE_TOLERANCE, atol=1e-9):
        raise FaultError("reach", ["forces of two stacks do not add as the whole circuit has them"])
