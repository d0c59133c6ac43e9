"""Iterative deepening: one number of changes after another, each closed, until a stack meets the goal.

Closing every smaller number first is what proves that fewer changes will not do. Before it the primal
heuristic offers good stacks; after it the list is filled, or the nearest stack is proven.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import chain

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Answer, Candidate, Effort, Status
from optimiser.model.band_result import band_result
from optimiser.model.edits import contents_of
from optimiser.model.problem import Problem
from optimiser.model.unanswered import Unanswered
from optimiser.search.branch_and_bound import BranchAndBound
from optimiser.search.control import Control, Missed, Progress, Stopped
from optimiser.search.evaluator import Evaluator, Floats
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Objections, left_out
from optimiser.search.objective import BestFeasible, LeastMisfit
from optimiser.search.primal.neighbourhood import PrimalHeuristic
from optimiser.search.space.problem_data import ProblemData
from optimiser.search.space.shape import Shape
from optimiser.search.tree.best_first import BestFirstTree
from optimiser.search.tree.roots import shapes

RANKING_FAMILIES = 4000
"""Families bounded, once a stack is found, for closer ones with as few changes. [-]"""

TAIL_FAMILIES = 300
"""Families bounded to fill the list with stacks of one change more than the least. [-]"""


class _BudgetSpent(Exception):  # noqa: N818
    """The list is long enough for the work it takes."""


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
        self.searches = [
            BranchAndBound(
                data=data,
                evaluator=evaluator,
                goal=problem.goal,
                stock=problem.stock,
                setting=setting,
                stop=self.stop,
                cores=control.most_processes,
                again=find_nearest,
            )
            for setting in settings
        ]
        self.nearest, self.nearest_proven = nearest, not most_changes
        self._told: tuple[Candidate | None, Missed] = None, Missed("", 0.0)
        self.objections, self.settings_unanswered = objections, unanswered
        self.best = BestFeasible(self.metrics, wanted)
        self.heuristic: list[Candidate] = []
        for one in sorted(known, key=rank.closeness):
            if one.setting in settings and one.misfit <= self.nearest.misfit and objections.none_to(one):
                self._take(one)
        self.changes, self.too_few = 0, 0
        self.budget: list[int] = []
        self.closest_proven = False
        self.reason: Status | None = None

    def stop(self, families_open: int) -> None:
        """End the work when it is time; else tell how far it has come."""
        self.control.stop_if_asked(self.deadline)
        if self.best.found and not self.budget:
            self.budget.append(self.families + RANKING_FAMILIES)
        if self.budget and self.families > self.budget[-1]:
            raise _BudgetSpent
        found = self.found
        self.control.report(
            Progress(
                self.changes,
                families_open,
                self.families,
                self.evaluations,
                len(found),
                0.0 if found else self.nearest.misfit,
                self.too_few,
                sum(one.count.ruled_out for one in self.searches),
                None if found else self._missed(),
            )
        )

    def _missed(self) -> Missed:
        """Where the nearest stack misses most; worked out once for each."""
        if self._told[0] is not self.nearest:
            parts = self.metrics.goal.parts
            judged = (
                Missed(window.name, band_result(window, self.nearest.forces[part]).missed_by)
                for window, part in parts
                if window.velocities
            )
            self._told = self.nearest, max(judged, key=lambda one: one.by)
        return self._told[1]

    @property
    def families(self) -> int:
        """Families that were bounded."""
        return sum(one.count.families for one in self.searches)

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
        try:
            self._try_heuristic()
            for changes in range(1, self.most_changes + 1):
                self._close(changes)
                if self.best.found:
                    self.closest_proven = True
                    break
                self.too_few = changes
            if self.best.found:
                if len(self.best.found) < self.wanted and self.changes < self.most_changes:
                    self._fill()
            elif self.find_nearest and self.most_changes:
                self._prove_nearest()
        except _BudgetSpent:
            pass
        except Stopped as stopped:
            self.reason = stopped.status

    def _shapes(self, changes: int) -> tuple[Shape, ...]:
        return shapes(
            self.data,
            self.evaluator,
            changes,
            relative_half_width=self.metrics.relative_half_width,
            setting=self.searches[0].setting,
        )

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
        kinds = self._shapes(changes)
        for search in self.searches:
            search.search(kinds, changes, self.best)

    def _fill(self) -> None:
        """Fill the list with stacks of one change more."""
        self.budget.append(self.families + TAIL_FAMILIES)
        self.changes += 1
        kinds = self._shapes(self.changes)[:1]
        for search in self.searches:
            search.search(kinds, self.changes, self.best)

    def _prove_nearest(self) -> None:
        objective = LeastMisfit(self.metrics, self._nearest_known())
        for search in self.searches:
            search.search_again(objective)
        self.nearest, self.nearest_proven = objective.best, True

    def _nearest_known(self) -> Candidate:
        """The nearest of all stacks that were evaluated exactly on the way."""
        evaluated = (one.nearest for one in self.searches)
        return min(chain([self.nearest], filter(None, evaluated)), key=lambda one: one.misfit)

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
        return replace(
            self._standing(nearest),
            left_out=left_out(refused.values()),
            nearer_left_out=left_out(refused.values(), nearer_than=nearest.misfit),
        )

    def _standing(self, nearest: Candidate) -> Answer:
        """What was found, or the nearest, and what of it is proven."""
        covered = 1 + sum(one.stacks for one in self.searches)
        effort = Effort(self.evaluations, self.families, covered)
        found = rank.ranked(self.found, wanted=self.wanted, present=self.evaluator.physics.setting)
        stacks = tuple(stack for one in self.searches for stack in one.count.unanswered)
        unanswered = Unanswered(self.settings_unanswered, tuple(dict.fromkeys(stacks)))
        too_few = self.too_few if not stacks else min(self.too_few, 0)
        too_few = -1 if self.settings_unanswered else too_few
        through = Status.UNANSWERED if unanswered else Status.BEST_SO_FAR
        if found:
            least = len(found[0].changes)
            proven = too_few == least - 1
            status = Status.PROVEN_LEAST if proven else self.reason or through
            first = proven and self.closest_proven
            return Answer(
                status, found, too_few, self.most_changes, None, False, effort, first, unanswered=unanswered
            )
        proven = too_few == self.most_changes
        status = Status.PROVEN_IMPOSSIBLE if proven else self.reason or through
        nearest_proven = self.nearest_proven and not unanswered
        return Answer(
            status, (), too_few, self.most_changes, nearest, nearest_proven, effort, unanswered=unanswered
        )
