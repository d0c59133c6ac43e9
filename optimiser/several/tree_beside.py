"""The tree of one stack that takes several changes while each of some others takes one."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model.answer import Effort
from optimiser.model.goal import LEAST_FORCE
from optimiser.model.open_stacks import DamperProblem
from optimiser.search.branch_and_bound import BranchAndBound
from optimiser.search.budget import RANKING, Budget, BudgetSpent
from optimiser.search.control import Control, Progress
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Tolerant
from optimiser.search.primal.neighbourhood import PrimalHeuristic
from optimiser.search.space.problem_data import problem_data
from optimiser.search.spot_check import SpotCheck
from optimiser.search.tree.roots import shapes
from optimiser.several.beside import BesideObjective
from optimiser.several.found import Found
from optimiser.several.metrics_beside import MetricsBeside
from optimiser.several.one_change import margins_of
from optimiser.several.sums import Sums

Floats = NDArray[np.float64]

DRAWN: Final = 40
"""Stacks of a tree that are drawn for a check. [-]"""

MEASURED: Final = 20
"""Of these, stacks of which coarse forces are held against exact ones. [-]"""


class TreeBeside:
    """Every stack with just so many changes, judged beside one change of others.

    Parameters
    ----------
    problem : the damper.
    place : of the stack that takes several changes.
    changes : how many.
    sums : of one change in each of the others.
    metrics, found : of the goal, and what is found.
    widening : how many times as wide as usual margins are.
    control : cores.
    stop : raises :class:`optimiser.search.control.Stopped` when it is time; told how many families are open.

    Attributes
    ----------
    off_margin : most that a coarse force was off an exact one, as a share of its margin. [-]
    """

    def __init__(
        self,
        problem: DamperProblem,
        place: int,
        changes: int,
        sums: Sums,
        *,
        metrics: GoalMetrics,
        found: Found,
        widening: float,
        control: Control[Progress],
        stop: Callable[[int], None],
    ) -> None:
        self._changes, self._found, self._stop = changes, found, stop
        self.sums, self._metrics = sums, metrics
        self.place, one = place, problem.open_stacks[place]
        alone = problem.alone(place, stock=problem.beside(place, changes=1))
        self._evaluator = Evaluator(Tolerant(one.physics), cores=control.cores)
        data = problem_data(alone, self._evaluator)
        self._widening, self.off_margin = widening, 0.0
        self._silent = silent = ~np.array(one.has_say)
        self._chosen = sums.left(metrics.limits_within(found.error_to_beat), open_at=~silent)
        self._objective = BesideObjective(
            place, sums, self._chosen, metrics=metrics, found=found, silent=silent
        )
        self._kinds = shapes(
            data,
            self._evaluator,
            changes,
            relative_half_width=metrics.relative_half_width,
            setting=found.setting,
        )
        self._budget = Budget()
        self._search = BranchAndBound(
            data=data,
            evaluator=self._evaluator,
            goal=alone.goal,
            stock=alone.stock,
            setting=found.setting,
            stop=self._check,
            cores=control.most_processes,
            again=False,
            # families of two changes beside one more close late, whatever the goal
            missed_by=lambda: 0.0,
            widening=widening,
            margins=self._margins,
        )

    @property
    def effort(self) -> Effort:
        """What it cost so far."""
        asked = self._evaluator.evaluations + self._search.worker_evaluations
        return Effort(asked, self._search.count.families, self._search.stacks)

    @property
    def unanswered(self) -> tuple[Stack, ...]:
        """Stacks that the model had no answer for."""
        return self._search.count.unanswered

    def try_heuristic(self) -> None:
        """Have stacks that meet the goal beside a sum early, if such are easily found."""
        if not len(self._chosen):
            return
        tree = self._search.tree
        heuristic = PrimalHeuristic(
            self._kinds[0],
            evaluator=self._evaluator,
            metrics=MetricsBeside(self._metrics, self.sums.before, self.sums.coarse(self._chosen)),
            setting=self._found.setting,
            buildable=tree.members.buildable,
        )
        for changes in range(1, self._changes + 1):
            for stack, forces in heuristic.with_changes(changes):
                self._stop(0)
                one = tree.candidate(stack, forces)
                if len(one.changes) == self._changes:
                    self._objective.record(one)

    def close(self) -> bool:
        """Judge every stack that may meet the goal beside a sum.

        Returns
        -------
        bool
            False when, with some found, it took too long to look for closer ones.

        Raises
        ------
        Stopped
            From ``stop``; what was found until then has been kept.
        """
        try:
            if len(self._chosen):
                self._search.search(self._kinds, self._changes, self._objective)
        except BudgetSpent:
            return False
        finally:
            self._search.close()
        return True

    def drawn(self) -> list[Stack]:
        """Some stacks of a tree that was closed, drawn at random; margins are held against some of them."""
        drawn = SpotCheck(self._search.tree).draw(self._kinds, self._changes, count=DRAWN)
        for stack in drawn[:: max(len(drawn) // MEASURED, 1)]:
            with suppress(ModelError):  # the search counts those that the model has no answer for
                self._hold_against(self._evaluator.physics.packed(stack))
        return [*drawn, *self._search.predicted.nearest]

    @property
    def predicted(self) -> int:
        """Sets of shims that were ruled out by forces predicted from those of others."""
        return self._search.predicted.sets

    def _hold_against(self, packed: PackedStack) -> None:
        """By how much coarse forces of a stack are off exact ones, as a share of their margin."""
        (coarse,) = self._evaluator.coarse_once([packed], self._found.setting)
        exact = self._evaluator.exact_forces(packed, self._found.setting)
        if coarse is not None and exact is not None:
            off = np.abs(exact - coarse) / np.maximum(self._margins(coarse), LEAST_FORCE)
            self.off_margin = max(self.off_margin, float(off[~self._silent].max(initial=0.0)))

    def _margins(self, coarse: Floats) -> Floats:
        return self._widening * margins_of(coarse, self.sums.before)

    def _check(self, families_open: int) -> None:
        self._stop(families_open)
        if self._found.kept:
            asked = self.effort.evaluations
            self._budget.begin(asked + RANKING)
            self._budget.check(asked)
