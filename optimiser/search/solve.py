"""The whole search: clicks alone, then one change more at a time, each number closed in turn."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import chain, islice

import numpy as np

from damping_model.stack import Stack
from optimiser import rank
from optimiser.errors import InputError
from optimiser.goal import Goal
from optimiser.physics import BandPhysics
from optimiser.plan import Answer, Candidate, Effort, Status
from optimiser.rules import Rule, Station
from optimiser.search.aim import Judge, Meet, Near
from optimiser.search.descent import Descent, Stopped
from optimiser.search.guesses import Guesses
from optimiser.search.prepare import shapes
from optimiser.search.runs import Floats, Runs
from optimiser.search.shape import Shape
from optimiser.search.workshop import Workshop, sound_rules, workshop
from optimiser.stock import Stock

GUESSES_JUDGED = 12
"""Guesses of each number of changes that are judged exactly. [-]"""

ROUGH = 0.02
"""Share of the force that a guess may miss a window by, roughly, and still be worth judging. [-]"""

RANKING_FAMILIES = 4000
"""Families looked at, once a stack is found, for closer ones with as few changes. [-]"""

TAIL_FAMILIES = 300
"""Families looked at to fill the list with stacks of one change more than the least. [-]"""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come.

    Parameters
    ----------
    changes : number of changes that is being searched.
    families_open, families_closed : families still to be looked at, and done with.
    physics_runs : how often the damping model was asked.
    found : stacks that meet the goal.
    least_misfit : misfit of the nearest stack so far; 0 when the goal is met. [-]
    proven_too_few : no stack with at most this many changes meets the goal; -1 when nothing is proven yet.
    """

    changes: int
    families_open: int
    families_closed: int
    physics_runs: int
    found: int
    least_misfit: float
    proven_too_few: int


class _Enough(Stopped):
    """The list is long enough for the work it takes."""


def solve(
    physics: BandPhysics,
    *,
    stack: Stack,
    station: Station,
    stock: Stock,
    goal: Goal,
    most_changes: int,
    wanted: int = 10,
    time_limit: float | None = None,
    should_stop: Callable[[], bool] | None = None,
    progress: Callable[[Progress], None] | None = None,
    rules: tuple[Rule, ...] | None = None,
    shim_settings: tuple[int, ...] | None = None,
    find_nearest: bool = True,
    cores: int | None = None,
) -> Answer:
    """The buildable stacks with the fewest changes that meet a goal, and the proof that fewer will not do.

    Parameters
    ----------
    physics : the damping model, with one stack open to change.
    stack : what is in the damper; its shims may be used again elsewhere in it.
    station : the place that it is bolted to.
    stock : what is on the shelf.
    goal : windows for the force, and a range for the height.
    most_changes : most shims out, in or swapped.
    wanted : how many candidates to list.
    time_limit : stop after this long and give what stands; None for never. [s]
    should_stop : asked often; True ends the search as an interruption.
    progress : told now and then how far it has come.
    rules : what a stack has to keep; those of ``stack`` when left out.
    shim_settings : adjuster settings at which changed stacks are tried; the present one when left out.
    find_nearest : when nothing meets the goal, go on to find what comes nearest and prove it.
    cores : how many questions to the physics are worked on at a time, as many as there are cores when left
        out; the answer does not depend on it.

    Returns
    -------
    Answer
        The same for the same question, unless time or the user ends it. Candidates beyond the least number of
        changes are the best of those found, not proven to be the best there are.

    Raises
    ------
    InputError
        When the stack in the damper breaks a rule itself.
    """
    rules = sound_rules(stack, station, rules)
    runs = Runs(physics, cores=cores)
    base = _as_it_is(runs, stack, stock, goal)
    met = [one for one in base if one.misfit == 0]
    if met:
        effort = Effort(runs.count, 0, len(base))
        return Answer(
            Status.PROVEN_LEAST, rank.ranked(met, wanted=wanted), -1, most_changes, None, False, effort, True
        )
    search = _Search(
        shop=workshop(runs, stack=stack, station=station, stock=stock, rules=rules),
        runs=runs,
        goal=goal,
        stock=stock,
        settings=(physics.setting,) if shim_settings is None else shim_settings,
        nearest=min(base, key=lambda one: (one.misfit, one.setting != physics.setting, one.setting)),
        wanted=wanted,
        most_changes=most_changes,
        ends=None if time_limit is None else time.monotonic() + time_limit,
        should_stop=should_stop,
        progress=progress,
    )
    search.run(find_nearest=find_nearest)
    return search.answer()


class _Search:
    """One search for shims, and what stands of it."""

    def __init__(
        self,
        *,
        shop: Workshop,
        runs: Runs,
        goal: Goal,
        stock: Stock,
        settings: tuple[int, ...],
        nearest: Candidate,
        wanted: int,
        most_changes: int,
        ends: float | None,
        should_stop: Callable[[], bool] | None,
        progress: Callable[[Progress], None] | None,
    ) -> None:
        self.shop, self.runs, self.goal, self.stock = shop, runs, goal, stock
        self.judge = Judge(goal)
        self.wanted, self.most_changes, self.ends = wanted, most_changes, ends
        self.should_stop, self.progress = should_stop, progress
        self.descents = [
            Descent(shop=shop, runs=runs, goal=goal, stock=stock, setting=one, stop=self.stop)
            for one in settings
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
        if self.should_stop is not None and self.should_stop():
            raise Stopped(Status.INTERRUPTED)
        if self.ends is not None and time.monotonic() >= self.ends:
            raise Stopped(Status.BEST_SO_FAR)
        if self.meet.found and not self.budget:
            self.budget.append(self.closed + RANKING_FAMILIES)
        if self.budget and self.closed > self.budget[-1]:
            raise _Enough
        if self.progress is not None:
            found = self.found
            misfit = 0.0 if found else self.nearest.misfit
            self.progress(
                Progress(
                    self.changes,
                    families_open,
                    self.closed,
                    self.runs.count,
                    len(found),
                    misfit,
                    self.too_few,
                )
            )

    @property
    def closed(self) -> int:
        """Families that were bounded."""
        return sum(descent.tally.families for descent in self.descents)

    @property
    def found(self) -> list[Candidate]:
        """Stacks that meet the goal."""
        return self.meet.found + [
            one for one in self.guessed if all(one.stack != known.stack for known in self.meet.found)
        ]

    def run(self, *, find_nearest: bool) -> None:
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
            elif find_nearest and self.most_changes:
                self._prove_nearest()
        except _Enough:
            pass
        except Stopped as stopped:
            self.reason = stopped.args[0]

    def _shapes(self, changes: int) -> tuple[Shape, ...]:
        setting = self.descents[0].setting
        return shapes(self.shop, self.runs, changes, half=self.judge.share, setting=setting)

    def _guess(self) -> None:
        """Put a stack that meets the goal on the bench as soon as there is one, proven or not."""
        if not self.most_changes:
            return
        self.stop(0)
        shape = self._shapes(1)[0]
        for descent in self.descents:
            guesses = Guesses(
                shape,
                runs=self.runs,
                judge=self.judge,
                setting=descent.setting,
                buildable=descent.buildable,
            )
            for changes in range(1, self.most_changes + 1):
                self.changes = changes
                self.stop(0)
                if self._judged(guesses.with_changes(changes), descent, changes):
                    break

    def _judged(self, guesses: Iterable[tuple[Stack, Floats]], descent: Descent, changes: int) -> bool:
        """Judge the nearest guesses exactly, until one meets the goal; whether one does."""
        room = ROUGH / float(np.min(self.judge.share))
        for stack, forces in islice(guesses, GUESSES_JUDGED):
            if self.judge.misfit(forces) > room:
                break
            exact = self.runs.forces(self.runs.physics.packed(stack), descent.setting)
            one = None if exact is None else descent.candidate(stack, exact)
            if one is None or len(one.changes) != changes:
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
        for descent in self.descents:
            descent.search(kinds, changes, self.meet)

    def _fill(self) -> None:
        """Fill the list with stacks of one change more."""
        self.budget.append(self.closed + TAIL_FAMILIES)
        self.changes += 1
        kinds = self._shapes(self.changes)[:1]
        for descent in self.descents:
            descent.search(kinds, self.changes, self.meet)

    def _prove_nearest(self) -> None:
        near = Near(self.judge, self._nearest_known())
        for descent in self.descents:
            descent.search_again(near)
        self.nearest, self.nearest_proven = near.best, True

    def _nearest_known(self) -> Candidate:
        """The nearest of all stacks that were judged exactly on the way."""
        judged = (descent.nearest() for descent in self.descents)
        return min(chain([self.nearest], filter(None, judged)), key=lambda one: one.misfit)

    def answer(self) -> Answer:
        """What stands, and how far it may be trusted."""
        covered = 1 + sum(descent.tally.stacks for descent in self.descents)
        effort = Effort(self.runs.count, self.closed, covered)
        found = rank.ranked(self.found, wanted=self.wanted)
        unjudged = any(descent.unjudged for descent in self.descents)
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


def _as_it_is(runs: Runs, stack: Stack, stock: Stock, goal: Goal) -> list[Candidate]:
    """The stack as it is, at every setting of the adjusters."""
    packed = runs.physics.packed(stack)
    tried = []
    for setting in range(len(runs.physics.settings)):
        forces = runs.forces(packed, setting)
        if forces is not None:
            tried.append(
                rank.candidate(old=stack, new=stack, setting=setting, forces=forces, goal=goal, stock=stock)
            )
    if not tried:
        raise InputError("The model finds no equilibrium for the stack in the damper. Check its dimensions.")
    return tried
