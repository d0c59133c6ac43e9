"""Ways to share changes out among stacks, closed: nothing that meets the goal is left of them.

Where each stack takes one change, what these do is gone through as sums. Where one takes several, its tree is
searched, with what the others may add as its objective.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from operator import attrgetter

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model.checked import NOTHING_CHECKED
from optimiser.model.open_stacks import DamperProblem
from optimiser.search import Control, Progress
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.several.drawn import drawn_beside, drawn_sums
from optimiser.several.found import Found
from optimiser.several.one_change import OneChange
from optimiser.several.shares import ShareOut, shared_out
from optimiser.several.sums import Sums
from optimiser.several.tally import Tally
from optimiser.several.tree_beside import TreeBeside

Floats = NDArray[np.float64]


class ClosedShares:
    """Closes ways to share changes out, at one setting of the adjusters.

    Parameters
    ----------
    problem : the damper.
    before : force with all stacks as they are (velocities,). [N]
    setting : of the adjusters.
    widening : how many times as wide as usual margins are.
    tally : counts what it costs, and takes what is found.
    control : cores.
    stop : raises :class:`optimiser.search.control.Stopped` when it is time; told how many families are open.

    Attributes
    ----------
    lists : what one change of each stack does, by its place.
    ruled_out : some stacks of what was ruled out, for a check.
    all_closed : whether nothing that meets the goal is left of any share that was closed, listed or not.
    """

    def __init__(
        self,
        problem: DamperProblem,
        *,
        before: Floats,
        setting: int,
        widening: float,
        tally: Tally,
        control: Control[Progress],
        stop: Callable[[int], None],
    ) -> None:
        self._problem, self._before, self._setting, self._widening = problem, before, setting, widening
        self._metrics = GoalMetrics(problem.goal)
        self._tally, self._control, self._stop = tally, control, stop
        self.lists: Mapping[int, OneChange] = {}
        self.ruled_out: list[tuple[Stack, ...]] = []
        self.all_closed, self._off_margin = True, 0.0
        self._trees: dict[ShareOut, TreeBeside] = {}
        self._ahead: dict[int, Found] = {}
        self._present: Found | None = None

    @property
    def found(self) -> int:
        """How many stacks meet the goal that are not handed over yet."""
        waiting = [*self._ahead.values(), *([] if self._present is None else [self._present])]
        return sum(len(one.kept) for one in waiting)

    @property
    def off_margin(self) -> float:
        """Most that a coarse force was off an exact one, as a share of its margin. [-]"""
        return max([self._off_margin, *(one.off_margin for one in self.lists.values())])

    def end(self) -> None:
        """Hand over what was found ahead, where nothing else was, and count what trees cost."""
        for found in self._ahead.values() if not self._tally.kept else ():
            self._tally.collect(found)
        for tree in self._trees.values():
            self._tally.effort += tree.effort
        self._ahead, self._trees = {}, {}

    def close(self, shares: Iterable[ShareOut]) -> bool:
        """Go through shares; once some meet the goal, those that open more assemblies are left."""
        opened = attrgetter("assemblies")
        for _, same in groupby(sorted(shares, key=opened), key=opened):
            listed = list(same)
            found = self._ahead.pop(listed[0].assemblies, None) or self._found()
            self._present = found
            try:
                for share in listed:
                    self._close_one(share, found)
            finally:
                self._present = None
                self._tally.collect(found)
            if found.kept:
                return True
        return False

    def _close_one(self, share: ShareOut, found: Found) -> None:
        present = self._problem.present
        if max(share.changes) == 1:
            sums = self._sums(share.places)
            sums.look_at(found)
            if not found.kept:
                sums.look_at_nearest(found)
                self.ruled_out += drawn_sums(sums, present, self._metrics)
            return
        tree = self._tree(share, found)
        try:
            self.all_closed = tree.close() and self.all_closed
        finally:
            self._tally.effort += self._trees.pop(share).effort
            self._tally.unanswered += len(tree.unanswered)
            self._tally.checked += replace(NOTHING_CHECKED, predicted=tree.predicted)
        if not found.kept:
            drawn = tree.drawn()
            self._off_margin = max(self._off_margin, tree.off_margin)
            self.ruled_out += drawn_beside(
                tree.sums,
                present,
                self._metrics,
                place=tree.place,
                one=self._problem.open_stacks[tree.place],
                drawn=drawn,
                setting=self._setting,
            )

    def _tree(self, share: ShareOut, found: Found) -> TreeBeside:
        """The tree of the stack that takes most of a share, after what is found easily in it."""
        if share not in self._trees:
            deepest = share.deepest
            tree = self._trees[share] = TreeBeside(
                self._problem,
                deepest,
                share.changes[deepest],
                self._sums([place for place in share.places if place != deepest]),
                metrics=self._metrics,
                found=found,
                widening=self._widening,
                control=self._control,
                stop=self._stop,
            )
            tree.try_heuristic()
        return self._trees[share]

    def _sums(self, places: Sequence[int]) -> Sums:
        lists = [self.lists[place] for place in places]
        return Sums(self._metrics, self._before, lists, places, lambda: self._stop(0))

    def _found(self) -> Found:
        return Found(self._problem, wanted=self._tally.wanted, setting=self._setting)

    def look_ahead(self, changes: int, most_assemblies: int) -> bool:
        """Whether so many changes over several stacks are easily found to meet the goal."""
        for share in shared_out(self._problem, changes):
            if max(share.changes) > 1 and share.assemblies <= most_assemblies:
                self._tree(share, self._ahead.setdefault(share.assemblies, self._found()))
        return any(found.kept for found in self._ahead.values())
