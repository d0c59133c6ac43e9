"""Clicks alone, then one change more at a time over all open stacks of a damper together.

One change anywhere and one change in each of several stacks are gone through as sums. More changes of one
stack alone are its own search, and beside changes of others a tree with their sums as its objective.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import replace
from itertools import groupby
from operator import attrgetter
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.model import rank
from optimiser.model.answer import Effort, Status
from optimiser.model.damper_answer import HOURS_A_CHANGE
from optimiser.model.open_stacks import DamperProblem
from optimiser.search import Control, Progress, solve
from optimiser.search.control import Stopped
from optimiser.search.evaluator import Evaluator
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Tolerant
from optimiser.several.drawn import drawn_beside, drawn_sums
from optimiser.several.found import Found
from optimiser.several.one_change import OneChange
from optimiser.several.shares import ShareOut, may_do_alone, shared_out
from optimiser.several.sums import Sums
from optimiser.several.tally import Tally
from optimiser.several.tree_beside import search_beside
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
    ) -> None:
        self.problem, self.control, self.may_turn = problem, control, setting is None
        self.setting = problem.setting if setting is None else setting
        self.most_changes, self.wanted = most_changes, wanted
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
        self.lists: dict[int, OneChange] = {}
        self.ruled_out: list[tuple[Stack, ...]] = []
        self.least_alone: int | None = None
        self.alone_too_few, self.alone_closest = 0, True

    def run(self) -> None:
        """Clicks alone, then one number of changes after another, until time or the user ends it."""
        try:
            self._clicks()
            if not self.tally.kept and self.tally.most_changes:
                self._deepen()
        except Stopped as stopped:
            self.tally.reason = stopped.status

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
            self.lists = self._lists_at(self.setting, self.before)
            self.tally.unanswered += sum(len(one.unanswered) for one in self.lists.values())
            sound = self._one_after_another()
            narrow = any(one.off_margin > 1 for one in self.lists.values())
            if sound and not narrow:
                return
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
            if self.least_alone == changes:
                # more assemblies than one would be of no use any more
                shares = tuple(one for one in shares if one.assemblies == 1)
            met = self._close(shares)
            if not met and changes == 1 and self._turned():
                return self._unbroken()
            if changes == FIRST_ALONE:
                self._each_alone(self._worth_alone() if met else self.most_changes)
            if met or self.least_alone == changes:
                self.tally.closest_proven = self.tally.too_few == changes - 1 and self.alone_closest
                return self._unbroken()
            if self.tally.too_few < changes - 1 or (changes > 1 and self.alone_too_few < changes):
                self.tally.reason = self.tally.reason or Status.BEST_SO_FAR
                return self._unbroken()
            self.tally.too_few = changes
        return self._unbroken()

    def _each(self, changes: int) -> tuple[ShareOut, ...]:
        """Each stack with all others as they are."""
        count = len(self.problem.open_stacks)
        return tuple(
            ShareOut(tuple(changes if place == other else 0 for other in range(count)), 1)
            for place in self.lists
        )

    def _close(self, shares: Iterable[ShareOut]) -> bool:
        """Go through shares; once some meet the goal, those that open more assemblies are left."""
        opened = attrgetter("assemblies")
        for _, same in groupby(sorted(shares, key=opened), key=opened):
            found = Found(self.problem, wanted=self.wanted, setting=self.setting)
            try:
                for share in same:
                    self._close_one(share, found)
            finally:
                self.tally.collect(found)
            if found.kept:
                return True
        return False

    def _close_one(self, share: ShareOut, found: Found) -> None:
        most, present = max(share.changes), self.problem.present
        beside = [place for place in share.places if most == 1 or place != share.deepest]
        lists = [self.lists[place] for place in beside]
        sums = Sums(self.metrics, self.before, lists, beside, self._wait)
        if most == 1:
            sums.look_at(found)
            if not found.kept:
                sums.look_at_nearest(found)
                self.ruled_out += drawn_sums(sums, present, self.metrics)
            return
        place = share.deepest
        closed = search_beside(
            self.problem,
            place,
            most,
            sums,
            metrics=self.metrics,
            found=found,
            control=self.control,
            stop=self._stop,
        )
        self.tally.effort += closed.effort
        self.tally.unanswered += len(closed.unanswered)
        if not found.kept:
            self.ruled_out += drawn_beside(
                sums,
                present,
                self.metrics,
                place=place,
                one=self.problem.open_stacks[place],
                drawn=closed.drawn,
                setting=self.setting,
            )

    def _turned(self) -> bool:
        """Whether turned adjusters leave one change to make: the stacks at the clicks that come nearest."""
        near = self.tally.nearest_clicks
        if near is None or near.setting == self.setting or not self.may_turn:
            return False
        found = met_when_turned(
            self.problem,
            near,
            lists=self._lists_at(near.setting, np.asarray(near.forces)),
            metrics=self.metrics,
            wanted=self.wanted,
            wait=self._wait,
        )
        self.tally.collect(found)
        return bool(found.kept)

    def _worth_alone(self) -> int:
        """Changes of one stack alone that are less work than what was found in several."""
        fewest = min(one.assemblies for one in self.tally.kept)
        spared = (fewest - 1) * self.problem.hours_to_open
        return min(self.changes + int(spared > HOURS_A_CHANGE), self.most_changes)

    def _each_alone(self, most_changes: int) -> None:
        """Search each stack with all others as they are, for no more changes than another takes."""
        self.alone_too_few = most_changes
        for place in self.lists:
            if not may_do_alone(self.problem, place, self.metrics, self.before):
                continue
            self._stop(0)
            answer = solve(
                self.problem.alone(place),
                most_changes=self.least_alone or most_changes,
                control=self._left(),
                wanted=self.wanted,
                settings=(self.setting,),
                find_nearest=False,
            )
            self.tally.count(answer)
            for candidate in (*answer.candidates, *([answer.nearest] if answer.nearest else [])):
                self.tally.take(place, candidate)
            if answer.candidates:
                self.least_alone = len(answer.candidates[0].changes)
                self.alone_closest = self.alone_closest and answer.closest_proven
            self.alone_too_few = min(self.alone_too_few, answer.proven_too_few)

    def _unbroken(self) -> bool:
        """Whether nothing drawn from what was ruled out meets the goal by the whole model."""
        for stacks in self.ruled_out:
            self._wait()
            self.tally.drawn += 1
            try:
                forces = self.problem.whole.forces(stacks, self.setting)
            except ModelError:
                continue
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
                len(self.tally.kept),
                self.tally.too_few,
            )
        )
