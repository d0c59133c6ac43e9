"""The whole search: clicks alone, then one change more at a time, each number closed in turn."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from damping_model.stack import Stack
from optimiser import rank
from optimiser.errors import InputError
from optimiser.goal import Goal
from optimiser.physics import BandPhysics
from optimiser.plan import Answer, Candidate, Effort, Status
from optimiser.rules import Rule, Station, rules_for, violations
from optimiser.search.aim import Judge, Meet, Near
from optimiser.search.descent import Descent, Stopped
from optimiser.search.prepare import shapes
from optimiser.search.runs import Runs
from optimiser.search.workshop import workshop
from optimiser.stock import Stock

RANKING_FAMILIES = 3000
"""Families looked at, once a stack is found, for others with as few changes that are closer to the target. [-]"""

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


@dataclass(slots=True)
class _State:
    meet: Meet
    nearest: Candidate
    too_few: int = -1
    changes: int = 0
    reason: Status | None = None
    first_proven: bool = False


def solve(  # noqa: C901
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
    cores: int = 1,
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
    cores : how many questions to the physics are worked on at a time; the answer does not depend on it.

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
    rules = rules_for(stack, station) if rules is None else rules
    broken = violations(rules, stack, station)
    if broken:
        raise InputError("The stack in the damper cannot be built as it is written: " + " ".join(broken))
    runs = Runs(physics, cores=cores)
    judge = Judge(goal)
    base = _as_it_is(runs, stack, stock, goal)
    met = [one for one in base if one.misfit == 0]
    nearest = min(base, key=lambda one: (one.misfit, one.setting != physics.setting, one.setting))
    if met:
        effort = Effort(runs.count, 0, len(base))
        return Answer(
            Status.PROVEN_LEAST, rank.ranked(met, wanted=wanted), -1, most_changes, None, False, effort, True
        )
    state = _State(Meet(judge, wanted), nearest, too_few=0)
    shop = workshop(runs, stack=stack, station=station, stock=stock, rules=rules)
    ends = None if time_limit is None else time.monotonic() + time_limit
    descents: list[Descent] = []
    budget: list[int] = []

    def closed() -> int:
        return sum(descent.tally.families for descent in descents)

    def stop(families_open: int) -> None:
        if should_stop is not None and should_stop():
            raise Stopped(Status.INTERRUPTED)
        if ends is not None and time.monotonic() >= ends:
            raise Stopped(Status.BEST_SO_FAR)
        if state.meet.found and not budget:
            budget.append(closed() + RANKING_FAMILIES)
        if budget and closed() > budget[-1]:
            raise _Enough
        if progress is not None:
            misfit = 0.0 if state.meet.found else state.nearest.misfit
            progress(Progress(state.changes, families_open, closed(), runs.count, len(state.meet.found),
                              misfit,
                              state.too_few))  # fmt: skip

    settings = (physics.setting,) if shim_settings is None else shim_settings
    descents += [
        Descent(shop=shop, runs=runs, goal=goal, stock=stock, setting=one, stop=stop) for one in settings
    ]
    nearest_proven = not most_changes
    try:
        for changes in range(1, most_changes + 1):
            state.changes = changes
            kinds = shapes(shop, runs, changes, half=judge.share, setting=settings[0])
            for descent in descents:
                descent.search(kinds, changes, state.meet)
            if state.meet.found:
                state.first_proven = True
                break
            state.too_few = changes
        if len(state.meet.found) in range(1, wanted) and state.changes < most_changes:
            budget.append(closed() + TAIL_FAMILIES)
            state.changes += 1
            kinds = shapes(shop, runs, state.changes, half=judge.share, setting=settings[0])[:1]
            for descent in descents:
                descent.search(kinds, state.changes, state.meet)
        elif not state.meet.found and find_nearest and most_changes:
            near = Near(judge, _nearest_known(descents, state.nearest, stock, goal, stack))
            for descent in descents:
                descent.search_again(near)
            state.nearest = near.best
            nearest_proven = True
    except _Enough:
        pass
    except Stopped as stopped:
        state.reason = stopped.args[0]
    return _answer(state, runs, descents, most_changes, wanted, nearest_proven, stock, goal, stack)


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


def _nearest_known(
    descents: list[Descent], nearest: Candidate, stock: Stock, goal: Goal, old: Stack
) -> Candidate:
    """The nearest of all stacks that were judged exactly on the way."""
    for descent in descents:
        found = descent.nearest()
        if found is not None and rank.misfit(goal, found[1]) < nearest.misfit:
            nearest = rank.candidate(
                old=old, new=found[0], setting=descent.setting, forces=found[1], goal=goal, stock=stock
            )
    return nearest


def _answer(
    state: _State,
    runs: Runs,
    descents: list[Descent],
    most_changes: int,
    wanted: int,
    nearest_proven: bool,
    stock: Stock,
    goal: Goal,
    stack: Stack,
) -> Answer:
    effort = Effort(
        runs.count, sum(d.tally.families for d in descents), 1 + sum(d.tally.stacks for d in descents)
    )
    found = rank.ranked(state.meet.found, wanted=wanted)
    unjudged = any(descent.unjudged for descent in descents)
    too_few = min(state.too_few, 0) if unjudged else state.too_few
    if found:
        least = len(found[0].changes)
        status = Status.PROVEN_LEAST if too_few == least - 1 else state.reason or Status.BEST_SO_FAR
        first = status is Status.PROVEN_LEAST and state.first_proven
        return Answer(status, found, too_few, most_changes, None, False, effort, first)
    nearest = _nearest_known(descents, state.nearest, stock, goal, stack)
    status = Status.PROVEN_IMPOSSIBLE if too_few == most_changes else state.reason or Status.BEST_SO_FAR
    return Answer(status, (), too_few, most_changes, nearest, nearest_proven and not unjudged, effort)
