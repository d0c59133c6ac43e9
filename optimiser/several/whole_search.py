"""Clicks alone, then one change more at a time over all open stacks of a damper together.

One change anywhere and one change in each of several stacks are gone through as sums. More changes of one
stack alone are its own search, and beside changes of others a tree with their sums as its objective.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from optimiser.errors import InputError
from optimiser.model import rank
from optimiser.model.answer import Effort, Status
from optimiser.model.checked import Checked
from optimiser.model.open_stacks import DamperProblem
from optimiser.search import Control, Progress, solve
from optimiser.search.control import Stopped
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Tolerant
from optimiser.search.where_missed import where_missed
from optimiser.several.alone import EachAlone, Enough
from optimiser.several.closed_shares import ClosedShares
from optimiser.several.one_change import OneChange
from optimiser.several.shares import ShareOut, may_do_alone, shared_out
from optimiser.several.tally import Tally
from optimiser.several.turned import met_when_turned

Floats = NDArray[np.float64]

MOST_WIDENINGS: Final = 3
"""How often margins are doubled before nothing is called proven. [-]"""

FIRST_ALONE: Final = 2
"""From so many changes on a stack alone is searched by itself; one change is gone through. [-]"""


class WholeSearch:
    """One search over several stacks; parameters as those of :func:`solve_whole`."""

    def __init__(
        self,
        problem: DamperProblem,
        *,
        most_changes: int,
        control: Control[Progress],
        wanted: int,
        setting: int | None,
        most_assemblies: int | None,
    ) -> None:
        self.problem, self.control, self.may_turn = problem, control, setting is None
        self.setting = problem.setting if setting is None else setting
        self.most_changes, self.wanted = most_changes, wanted
        every = problem.opened(range(len(problem.open_stacks)))
        self.most_assemblies = every if most_assemblies is None else most_assemblies
        self.metrics = GoalMetrics(problem.goal)
        self.deadline = control.deadline()
        self.tally = Tally(problem, most_changes=most_changes, wanted=wanted)
        self.widening, self.changes = 1.0, 0
        physics = problem.open_stacks[0].physics
        before = Evaluator(physics).exact_forces(physics.packed(problem.present[0]), self.setting)
        if before is None:
            raise InputError("The model has no answer for the damper as it is.")
        self.before = before
        self._begin()

    def _begin(self) -> None:
        """Nothing is known of any number of changes yet."""
        self.alone = EachAlone(self.problem, setting=self.setting, tally=self.tally)
        self.turned_lists: dict[int, OneChange] = {}
        self.shares = ClosedShares(
            self.problem,
            before=self.before,
            setting=self.setting,
            widening=self.widening,
            tally=self.tally,
            control=self.control,
            stop=self._stop,
        )

    def run(self) -> None:
        """Clicks alone, then one number of changes after another, until time or the user ends it."""
        try:
            self._clicks()
            if not self.tally.kept and self.tally.most_changes:
                self._deepen()
        except Stopped as stopped:
            self.tally.reason = stopped.status
        self.shares.end()

    def _clicks(self) -> None:
        """The stacks as they are, at every setting of the adjusters."""
        found = solve(self.problem.alone(0), most_changes=0, control=self._left(), wanted=self.wanted)
        self.tally.count(found)
        if found.unanswered:
            return
        if not found.candidates:
            self.tally.too_few = 0
        for one in (*found.candidates, *([found.nearest] if found.nearest else [])):
            self.tally.take(0, one)
        self.tally.closest_proven = bool(found.candidates)

    def _deepen(self) -> None:
        """One number of changes after another, with margins twice as wide should they prove too narrow."""
        for _ in range(MOST_WIDENINGS):
            lists = self.shares.lists = self._lists_at(self.setting, self.before)
            self.tally.unanswered += sum(len(one.unanswered) for one in lists.values())
            if self._one_after_another() and self.shares.off_margin <= 1:
                return
            self.shares.end()
            self.widening *= 2
            self.tally.begin_anew()
            self._begin()
        self.tally.reason = Status.BEST_SO_FAR

    def _lists_at(self, setting: int, before: Floats) -> dict[int, OneChange]:
        """What one change of each stack does at a setting of the adjusters, where the force is so much."""
        lists = {}
        for place, one in enumerate(self.problem.open_stacks):
            if not any(one.has_say):
                continue
            evaluator = Evaluator(Tolerant(one.physics), cores=self.control.cores)
            lists[place] = OneChange(
                one,
                stock=self.problem.beside(place, changes=1) if self.most_changes > 1 else self.problem.stock,
                evaluator=evaluator,
                setting=setting,
                before=before,
                widening=self.widening,
                wait=self._wait,
            )
            self.tally.effort += Effort(evaluator.evaluations, 0, len(lists[place].stacks))
        return lists

    def _one_after_another(self) -> bool:
        """Close one number of changes after another; False when something drawn breaks the proof."""
        for changes in range(1, self.most_changes + 1):
            self.changes = changes
            shares = self._each(1) if changes == 1 else shared_out(self.problem, changes)
            shares = tuple(one for one in shares if one.assemblies <= self.most_assemblies)
            if self.alone.least == changes:
                # more assemblies than one stack asks for would be of no use any more
                fewest = min(one.assemblies for one in self.tally.kept)
                shares = tuple(one for one in shares if one.assemblies <= fewest)
            met = self.shares.close(shares)
            turned = not met and changes <= FIRST_ALONE and self._turned(shares)
            if changes == FIRST_ALONE:
                self._each_alone(met=met or turned)
            if turned and self.alone.least != changes:
                return self._unbroken()
            if met or self.alone.least == changes:
                through = self.shares.all_closed and self.alone.closest_with(changes)
                self.tally.closest_proven = self.tally.too_few == changes - 1 and through
                return self._unbroken()
            alone = self.alone.too_few
            if self.tally.too_few < changes - 1 or (alone is not None and alone < changes):
                self.tally.reason = self.tally.reason or Status.BEST_SO_FAR
                return self._unbroken()
            self.tally.too_few = changes
        return self._unbroken()

    def _each(self, changes: int) -> tuple[ShareOut, ...]:
        """Each stack with all others as they are."""
        count = len(self.problem.open_stacks)
        return tuple(
            ShareOut(
                tuple(changes if place == other else 0 for other in range(count)),
                self.problem.opened([place]),
            )
            for place in self.shares.lists
        )

    def _turned(self, shares: Iterable[ShareOut]) -> bool:
        """Whether turned adjusters spare changes: the stacks at the clicks that alone come nearest."""
        near = self.tally.nearest_clicks
        if near is None or near.setting == self.setting or not self.may_turn:
            return False
        if not self.turned_lists:
            self.turned_lists = self._lists_at(near.setting, np.asarray(near.forces))
        found = met_when_turned(
            self.problem,
            near,
            lists=self.turned_lists,
            shares=shares,
            metrics=self.metrics,
            wanted=self.wanted,
            wait=self._wait,
        )
        self.tally.collect(found)
        return bool(found.kept)

    def _worth_alone(self) -> int:
        """Changes of one stack alone that are less work than what was found in several."""
        fewest = min(one.assemblies for one in self.tally.kept)
        times = self.problem.times
        spared = (fewest - self.problem.fewest_opened) * times.one_more
        return min(self.changes + int(spared > times.change), self.most_changes)

    def _each_alone(self, *, met: bool) -> None:
        """Search each stack with all others as they are; only so far where several are known to do."""
        further = self.most_changes > self.changes
        known_to_do = not met and further and self.shares.look_ahead(self.changes + 1, self.most_assemblies)
        most_changes = self._worth_alone() if met else self.most_changes
        self.alone.begin(most_changes)
        for place in self.shares.lists:
            may_open = self.problem.opened([place]) <= self.most_assemblies
            if not may_open or not may_do_alone(self.problem, place, self.metrics, self.before):
                continue
            self._stop(0)
            enough = Enough.once_closed(self.changes) if known_to_do else None
            self.alone.search(
                place,
                most_changes,
                control=self._left(),
                enough=Enough.beside_others() if met else enough,
            )

    def _unbroken(self) -> bool:
        """Whether nothing drawn from what was ruled out meets the goal by the whole model."""
        for stacks in self.shares.ruled_out:
            self._wait()
            try:
                forces = self.problem.whole.forces(stacks, self.setting)
            except ModelError:
                continue
            missed = where_missed(self.problem.goal, forces).by
            self.tally.checked += Checked(1, missed, None, round(math.log2(self.widening)))
            if rank.misfit(self.problem.goal, forces) > 0 or not self.problem.shelf_allows(stacks):
                continue
            if self.problem.whole.objection(stacks, self.setting) is None:
                return False
        return True

    def _left(self) -> Control[Progress]:
        """The same control for what is left of the time."""
        left = None if self.deadline is None else max(self.deadline - time.monotonic(), 0.0)
        return replace(self.control, time_limit=left)

    def _wait(self) -> None:
        self._stop(0)

    def _stop(self, families_open: int) -> None:
        self.control.stop_if_asked(self.deadline)
        self.control.report(
            Progress(
                self.changes,
                families_open,
                self.tally.effort.families,
                self.tally.effort.evaluations,
                len(self.tally.kept) + self.shares.found,
                self.tally.too_few,
            )
        )
