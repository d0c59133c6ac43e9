"""One number of changes after another: each closed, until a stack is found or no more are allowed."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Answer, Candidate, Effort, Status
from optimiser.model.problem import Problem
from optimiser.search.branch_and_bound import BranchAndBound
from optimiser.search.control import Control, Progress, Stopped
from optimiser.search.evaluator import Floats, Runs
from optimiser.search.objective import Judge, Meet, Near
from optimiser.search.primal.neighbourhood import Guesses
from optimiser.search.space.problem_data import Workshop
from optimiser.search.space.shape import Shape
from optimiser.search.tree.best_first import Descent
from optimiser.search.tree.roots import shapes

RANKING_FAMILIES = 4000
"""Families looked at, once a stack is found, for closer ones with as few changes. [-]"""

TAIL_FAMILIES = 300
"""Families looked at to fill the list with stacks of one change more than the least. [-]"""


class _Enough(Exception):  # noqa: N818
    """The list is long enough for the work it takes."""


class Levels:
    """One search for shims, and what stands of it; parameters as those of ``solve``."""

    def __init__(
        self,
        problem: Problem,
        *,
        shop: Workshop,
        runs: Runs,
        control: Control[Progress],
        deadline: float | None,
        settings: tuple[int, ...],
        nearest: Candidate,
        wanted: int,
        most_changes: int,
        find_nearest: bool,
    ) -> None:
        self.runs, self.shop = runs, shop
        self.judge = Judge(problem.goal)
        self.control, self.deadline = control, deadline
        self.wanted, self.most_changes, self.find_nearest = wanted, most_changes, find_nearest
        self.searches = [
            BranchAndBound(
                shop=shop,
                runs=runs,
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
        self.meet = Meet(self.judge, wanted)
        self.guessed: list[Candidate] = []
        self.changes, self.too_few = 0, 0
        self.budget: list[int] = []
        self.first_proven = False
        self.reason: Status | None = None

    def stop(self, families_open: int) -> None:
        """End the work when it is time; else tell how far it has come."""
        self.control.stop_if_asked(self.deadline)
        if self.meet.found and not self.budget:
            self.budget.append(self.closed + RANKING_FAMILIES)
        if self.budget and self.closed > self.budget[-1]:
            raise _Enough
        found = self.found
        self.control.report(
            Progress(
                self.changes,
                families_open,
                self.closed,
                self.evaluations,
                len(found),
                0.0 if found else self.nearest.misfit,
                self.too_few,
            )
        )

    @property
    def closed(self) -> int:
        """Families that were bounded."""
        return sum(one.tally.families for one in self.searches)

    @property
    def evaluations(self) -> int:
        """Questions to the physics."""
        return self.runs.count + sum(one.runs_apart for one in self.searches)

    @property
    def found(self) -> list[Candidate]:
        """Stacks that meet the goal."""
        return self.meet.found + [
            one for one in self.guessed if all(one.stack != known.stack for known in self.meet.found)
        ]

    def run(self) -> None:
        """Guess; close one number of changes after another; fill the list, or prove the nearest stack."""
        try:
            self._guess()
            for changes in range(1, self.most_changes + 1):
                self._close(changes)
                if self.meet.found:
                    self.first_proven = True
                    break
                self.too_few = changes
            if self.meet.found:
                if len(self.meet.found) < self.wanted and self.changes < self.most_changes:
                    self._fill()
            elif self.find_nearest and self.most_changes:
                self._prove_nearest()
        except _Enough:
            pass
        except Stopped as stopped:
            self.reason = stopped.status

    def _shapes(self, changes: int) -> tuple[Shape, ...]:
        setting = self.searches[0].setting
        return shapes(self.shop, self.runs, changes, half=self.judge.share, setting=setting)

    def _guess(self) -> None:
        """Put a stack that meets the goal on the bench as soon as there is one, proven or not."""
        if not self.most_changes:
            return
        self.stop(0)
        shape = self._shapes(1)[0]
        for search in self.searches:
            guesses = Guesses(
                shape,
                runs=self.runs,
                judge=self.judge,
                setting=search.setting,
                buildable=search.descent.members.buildable,
            )
            for changes in range(1, self.most_changes + 1):
                self.changes = changes
                self.stop(0)
                if self._judged(guesses.with_changes(changes), search.descent, changes):
                    break

    def _judged(self, guesses: Iterable[tuple[Stack, Floats]], descent: Descent, changes: int) -> bool:
        """Judge guesses until one meets the goal; whether one does."""
        for stack, forces in guesses:
            one = descent.candidate(stack, forces)
            if len(one.changes) != changes:
                continue
            if one.misfit == 0:
                self.guessed.append(one)
                return True
            self.nearest = min(self.nearest, one, key=lambda each: each.misfit)
        return False

    def _close(self, changes: int) -> None:
        """Find every wanted stack with just so many changes."""
        self.changes = changes
        self.meet = Meet(self.judge, self.wanted)
        for one in self.guessed:
            if len(one.changes) == changes:
                self.meet.take(one)
        kinds = self._shapes(changes)
        for search in self.searches:
            search.search(kinds, changes, self.meet)

    def _fill(self) -> None:
        """Fill the list with stacks of one change more."""
        self.budget.append(self.closed + TAIL_FAMILIES)
        self.changes += 1
        kinds = self._shapes(self.changes)[:1]
        for search in self.searches:
            search.search(kinds, self.changes, self.meet)

    def _prove_nearest(self) -> None:
        near = Near(self.judge, self._nearest_known())
        for search in self.searches:
            search.search_again(near)
        self.nearest, self.nearest_proven = near.best, True

    def _nearest_known(self) -> Candidate:
        """The nearest of all stacks that were judged exactly on the way."""
        judged = (one.nearest for one in self.searches)
        return min(chain([self.nearest], filter(None, judged)), key=lambda one: one.misfit)

    def close(self) -> None:
        """Let go of the processes."""
        for search in self.searches:
            search.close()

    def answer(self) -> Answer:
        """What stands, and how far it may be trusted."""
        covered = 1 + sum(one.stacks for one in self.searches)
        effort = Effort(self.evaluations, self.closed, covered)
        found = rank.ranked(self.found, wanted=self.wanted)
        unjudged = any(one.tally.unjudged for one in self.searches)
        too_few = min(self.too_few, 0) if unjudged else self.too_few
        if found:
            least = len(found[0].changes)
            proven = too_few == least - 1
            status = Status.PROVEN_LEAST if proven else self.reason or Status.BEST_SO_FAR
            first = proven and self.first_proven
            return Answer(status, found, too_few, self.most_changes, None, False, effort, first)
        proven = too_few == self.most_changes
        status = Status.PROVEN_IMPOSSIBLE if proven else self.reason or Status.BEST_SO_FAR
        nearest_proven = self.nearest_proven and not unjudged
        return Answer(status, (), too_few, self.most_changes, self._nearest_known(), nearest_proven, effort)
