"""The whole search: clicks alone, then one change more at a time, each number closed in turn."""

from __future__ import annotations

import time
from collections.abc import Callable

from damping_model.stack.stack import Stack
from optimiser.errors import InputError
from optimiser.model import rank
from optimiser.model.answer import Answer, Candidate, Effort, Status
from optimiser.model.goal import Goal
from optimiser.model.physics import BandPhysics
from optimiser.model.rules import Mounting, Rule
from optimiser.model.stock import Stock
from optimiser.processes import cores_here
from optimiser.search.evaluator import Runs
from optimiser.search.iterative_deepening import Levels, Progress
from optimiser.search.space.problem_data import sound_rules, workshop
from optimiser.search.warm_up import warm_up


def solve(
    physics: BandPhysics,
    *,
    stack: Stack,
    mounting: Mounting,
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
    mounting : the place that it is bolted to.
    stock : what is on the shelf.
    goal : windows for the force, and a range for the height.
    most_changes : most shims out, in or swapped.
    wanted : how many candidates to list.
    time_limit : stop after this long and give what stands; None for never. What a first run in a fresh
        installation compiles does not count. [s]
    should_stop : asked often; True ends the search as an interruption.
    progress : told now and then how far it has come.
    rules : what a stack has to keep; those of ``stack`` when left out.
    shim_settings : adjuster settings at which changed stacks are tried; the present one when left out.
    find_nearest : when nothing meets the goal, go on to find what comes nearest and prove it.
    cores : processes at most, as many as there are cores when left out; the answer does not depend on it.

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
    rules = sound_rules(stack, mounting, rules)
    warm_up()
    begun = time.monotonic()
    runs = Runs(physics, cores=cores)
    base = _as_it_is(runs, stack, stock, goal)
    met = [one for one in base if one.misfit == 0]
    if met:
        effort = Effort(runs.count, 0, len(base))
        return Answer(
            Status.PROVEN_LEAST, rank.ranked(met, wanted=wanted), -1, most_changes, None, False, effort, True
        )
    search = Levels(
        shop=workshop(runs, stack=stack, mounting=mounting, stock=stock, rules=rules),
        runs=runs,
        goal=goal,
        stock=stock,
        settings=(physics.setting,) if shim_settings is None else shim_settings,
        nearest=min(base, key=lambda one: (one.misfit, one.setting != physics.setting, one.setting)),
        wanted=wanted,
        most_changes=most_changes,
        ends=None if time_limit is None else begun + time_limit,
        should_stop=should_stop,
        progress=progress,
        find_nearest=find_nearest,
        cores=cores_here() if cores is None else cores,
    )
    try:
        search.run()
        return search.answer()
    finally:
        search.close()


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
