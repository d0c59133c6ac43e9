"""Iterative deepening: one number of changes after another, each closed, until a stack meets the goal.

Closing every smaller number first is what proves that fewer changes will not do. Before it the primal
heuristic offers good stacks; after it the list is filled, or the nearest stack is proven.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import cache, partial
from itertools import chain

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Answer, Candidate, Effort, Status
from optimiser.model.checked import Checked
from optimiser.model.edits import contents_of
from optimiser.model.problem import Problem
from optimiser.model.unanswered import Unanswered
from optimiser.search.branch_and_bound import BranchAndBound
from optimiser.search.budget import RANKING, TAIL, Budget, BudgetSpent
from optimiser.search.control import Control, Phase, Progress, Stopped
from optimiser.search.evaluator import Evaluator, Floats
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Objections, left_out
from optimiser.search.objective import BestFeasible, LeastMisfit
from optimiser.search.primal.neighbourhood import PrimalHeuristic
from optimiser.search.space.problem_data import ProblemData
from optimiser.search.space.shape import Shape
from optimiser.search.spot_check import Proof, spot_check
from optimiser.search.standing import Closed, standing
from optimiser.search.tree.best_first import BestFirstTree
from optimiser.search.tree.roots import shapes
from optimiser.search.where_missed import where_missed


class IterativeDeepening:
    """One search for the fewest changes, and what stands of it; parameters as those of ``solve``."""

    def __init__(
        self,
        problem: Problem,
        *,
        data: ProblemData,
        evaluator: Evaluator,
        control: Control[Progress],
        deadline: float | None,
        settings: tuple[int, ...],
        nearest: Candidate,
        objections: Objections,
        wanted: int,
        most_changes: int,
        find_nearest: bool,
        known: Sequence[Candidate],
        unanswered: tuple[int, ...],
    ) -> None:
        self.data, self.evaluator = data, evaluator
        self.metrics = GoalMetrics(problem.goal)
        self.control, self.deadline = control, deadline
        self.wanted, self.most_changes, self.find_nearest = wanted, most_changes, find_nearest
        self.problem, self.settings = problem, settings
        half_width = self.metrics.relative_half_width
        self._shapes: Callable[[int], tuple[Shape, ...]] = cache(
            partial(shapes, data, evaluator, relative_half_width=half_width, setting=settings[0])
        )
        self.checked: Checked | None = None
        self.reopened = 0
        self.searches = self._searches()
        self.nearest, self.nearest_proven = nearest, not most_changes
        self.objections, self.settings_unanswered = objections, unanswered
        self.best = BestFeasible(self.metrics, wanted)
        self.heuristic: list[Candidate] = []
        for one in sorted(known, key=rank.closeness):
            of_use = one.misfit > 0 or one.setting in settings  # with adjusters turned, as a nearest alone
            if of_use and one.misfit <= self.nearest.misfit and objections.none_to(one):
                self._take(one)
        self.changes, self.too_few, self.closest_proven = 0, 0, False
        self.phase = Phase.FEWEST
        self.budget = Budget()
        self.reason: Status | None = None

    def stop(self, families_open: int) -> None:
        """End the work when it is time; else tell how far it has come."""
        self.control.stop_if_asked(self.deadline)
        if self.best.found:
            self.budget.begin(self.evaluations + RANKING)
        self.budget.check(self.evaluations)
        found = self.found
        self.control.report(
            Progress(
                self.changes,
                families_open,
                sum(one.count.families for one in self.searches),
                self.evaluations,
                len(found),
                self.too_few,
                sum(one.count.ruled_out for one in self.searches),
                None if found else where_missed(self.problem.goal, self.nearest.forces),
                self.phase,
            )
        )

    @property
    def evaluations(self) -> int:
        """Evaluations of the physics."""
        return self.evaluator.evaluations + sum(one.worker_evaluations for one in self.searches)

    @property
    def found(self) -> list[Candidate]:
        """Stacks that meet the goal: of the same shims, in whatever order in their packs, the closest."""
        found: dict[tuple[object, ...], Candidate] = {}
        for one in sorted((*self.best.found, *self.heuristic), key=rank.closeness):
            found.setdefault((contents_of(one.stack), one.setting), one)
        return list(found.values())

    def run(self) -> None:
        """Close one number of changes after another; then fill the list, or prove the nearest stack."""
        sound = False
        try:
            self._try_heuristic()
            self._deepen()
            while broken := self._broken():
                self._widen(broken)
                self._deepen()
            sound = True
            if not self.best.found and self.find_nearest and self.most_changes:
                self._prove_nearest()
            elif self.closest_proven and len(self.best.found) < self.wanted:
                self._fill()
        except Stopped as stopped:
            self.reason = stopped.status
            if not sound and self._broken():
                self.too_few, self.closest_proven = 0, False

    def _searches(self) -> list[BranchAndBound]:
        return [
            BranchAndBound(
                data=self.data,
                evaluator=self.evaluator,
                goal=self.problem.goal,
                stock=self.problem.stock,
                setting=setting,
                stop=self.stop,
                cores=self.control.most_processes,
                again=self.find_nearest,
                missed_by=self._missed_by,
                widening=2.0**self.reopened,
            )
            for setting in self.settings
        ]

    def _missed_by(self) -> float | None:
        """By what share of the force the nearest stack known misses the goal; none once one meets it."""
        if self.best.found:
            return None
        return where_missed(self.problem.goal, self._nearest_known().forces).by

    def _deepen(self) -> None:
        """Close one number of changes after another, until a stack is found."""
        self.too_few, self.closest_proven = 0, False
        for changes in range(1, self.most_changes + 1):
            with suppress(BudgetSpent):
                self._close(changes)
                self.closest_proven = bool(self.best.found)
            if self.best.found:
                return
            self.too_few = changes

    def _broken(self) -> list[Candidate]:
        """Stacks, drawn from all that was closed, that should not be: they meet the goal, or come closer."""
        if not (self.too_few or self.closest_proven):
            return []
        proof = Proof(
            too_few=self.too_few,
            closest=min(self.best.found, key=rank.closeness) if self.closest_proven else None,
        )
        self.checked, broken = spot_check(
            proof,
            [one.tree for one in self.searches],
            shapes=self._shapes,
            predicted=[one.predicted for one in self.searches],
            objections=self.objections,
            reopened=self.reopened,
        )
        return broken

    def _widen(self, broken: Sequence[Candidate]) -> None:
        """Begin anew with margins twice as wide, from what was drawn."""
        self.close()
        self.reopened += 1
        self.budget = Budget()
        self.heuristic += broken
        self.searches = self._searches()

    def _try_heuristic(self) -> None:
        """Have a stack that meets the goal as soon as there is one, proven to be the best or not."""
        if not self.most_changes:
            return
        self.stop(0)
        shape = self._shapes(1)[0]
        for search in self.searches:
            heuristic = PrimalHeuristic(
                shape,
                evaluator=self.evaluator,
                metrics=self.metrics,
                setting=search.setting,
                buildable=search.tree.members.buildable,
            )
            fewest = min((len(one.changes) for one in self.heuristic), default=self.most_changes + 1)
            for changes in range(1, min(fewest, self.most_changes + 1)):
                self.changes = changes
                self.stop(0)
                if self._one_meets(heuristic.with_changes(changes), search.tree, changes):
                    break

    def _one_meets(
        self, proposals: Iterable[tuple[Stack, Floats]], tree: BestFirstTree, changes: int
    ) -> bool:
        """Take proposals until one meets the goal; whether one does."""
        for stack, forces in proposals:
            one = tree.candidate(stack, forces)
            if len(one.changes) != changes:
                continue
            if one.misfit >= self.nearest.misfit or not self.objections.none_to(one):
                continue
            self._take(one)
            if one.misfit == 0:
                return True
        return False

    def _take(self, one: Candidate) -> None:
        """A stack that meets the goal, or comes nearer than any before."""
        if one.misfit == 0:
            self.heuristic.append(one)
        elif one.misfit < self.nearest.misfit:
            self.nearest = one

    def _close(self, changes: int) -> None:
        """Find the best stacks with just so many changes."""
        self.changes = changes
        self.best = BestFeasible(self.metrics, self.wanted)
        for one in self.heuristic:
            if len(one.changes) == changes:
                self.best.record(one)
        for search in self.searches:
            search.search(self._shapes(changes), changes, self.best)

    def _fill(self) -> None:
        """Fill the list with stacks of one change more, if that many are allowed."""
        if self.changes == self.most_changes:
            return
        self.budget.allow(self.evaluations + TAIL)
        self.changes += 1
        with suppress(BudgetSpent):
            for search in self.searches:
                search.search(self._shapes(self.changes)[:1], self.changes, self.best)

    def _prove_nearest(self) -> None:
        self.phase, objective = Phase.CLOSEST, LeastMisfit(self.metrics, self._nearest_known())
        for search in self.searches:
            search.search_again(objective)
        self.nearest, self.nearest_proven = objective.best, True

    def _nearest_known(self) -> Candidate:
        """The nearest of all stacks that were evaluated exactly on the way."""
        evaluated = filter(None, (one.nearest for one in self.searches))
        return min(chain([self.nearest], evaluated), key=lambda one: one.misfit)

    def close(self) -> None:
        """End the workers."""
        for search in self.searches:
            search.close()

    def answer(self) -> Answer:
        """What stands, and how far it may be trusted."""
        refused = dict(self.objections.refused)
        for one in self.searches:
            refused |= one.refused
        nearest = self._nearest_known()
        stacks = dict.fromkeys(stack for one in self.searches for stack in one.count.unanswered)
        closed = Closed(
            too_few=self.too_few,
            most_changes=self.most_changes,
            closest=self.closest_proven,
            nearest=self.nearest_proven and (not nearest.changes or nearest.setting in self.settings),
            reason=self.reason,
            unanswered=Unanswered(self.settings_unanswered, tuple(stacks)),
        )
        found = rank.ranked(self.found, wanted=self.wanted, present=self.evaluator.physics.setting)
        families = sum(one.count.families for one in self.searches)
        effort = Effort(self.evaluations, families, 1 + sum(one.stacks for one in self.searches))
        return replace(
            standing(found, closed, nearest=nearest, effort=effort),
            left_out=left_out(refused.values()),
            nearer_left_out=left_out(refused.values(), nearer_than=nearest.misfit),
            checked=self.checked,
        )
