"""Every stack within a number of changes, offered to whoever says which ones are wanted."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from damping_model.stack.stack import Stack
from optimiser.model.answer import Effort, Status
from optimiser.model.goal import Goal
from optimiser.model.physics import BandPhysics
from optimiser.model.rules import Mounting, Rule
from optimiser.model.stock import Stock
from optimiser.processes import cores_here
from optimiser.search.branch_and_bound import BranchAndBound, Stopped, stop_if_asked
from optimiser.search.evaluator import Runs
from optimiser.search.objective import Aim, Judge
from optimiser.search.space.problem_data import sound_rules, workshop
from optimiser.search.tree.roots import shapes
from optimiser.search.warm_up import warm_up


@dataclass(frozen=True, slots=True)
class Explored:
    """How far an exploration came.

    Parameters
    ----------
    stopped : why it ended early; None when nothing that is wanted is left.
    proven : whether nothing that is wanted is left, and the model could answer for every stack.
    effort : what it cost.
    """

    stopped: Status | None
    proven: bool
    effort: Effort


def explore(
    physics: BandPhysics,
    *,
    stack: Stack,
    mounting: Mounting,
    stock: Stock,
    goal: Goal,
    aim: Aim,
    most_changes: int,
    time_limit: float | None = None,
    should_stop: Callable[[], bool] | None = None,
    progress: Callable[[int, int, int], None] | None = None,
    rules: tuple[Rule, ...] | None = None,
    settings: tuple[int, ...] | None = None,
    cores: int | None = None,
) -> Explored:
    """Offer every wanted stack within a number of changes to an aim.

    Parameters
    ----------
    physics : the damping model, with one stack open to change.
    stack, mounting, stock : what is in the damper, where, and what is on the shelf.
    goal : velocities, heights, and the widths that say what counts as much.
    aim : says which families are hopeless and which stacks are wanted, and takes those.
    most_changes : most shims out, in or swapped; at least 1.
    time_limit : stop after this long. [s]
    should_stop : asked often; True ends it as an interruption.
    progress : told families open, families closed and physics runs now and then.
    rules : what a stack has to keep; those of ``stack`` when left out.
    settings : adjuster settings at which stacks are tried; the present one when left out.
    cores : processes at most, as many as there are cores when left out; what is found does not depend on it.

    Raises
    ------
    InputError
        When the stack in the damper breaks a rule itself.
    """
    rules = sound_rules(stack, mounting, rules)
    warm_up()
    runs, judge = Runs(physics, cores=cores), Judge(goal)
    ends = None if time_limit is None else time.monotonic() + time_limit
    searches: list[BranchAndBound] = []
    cores = cores_here() if cores is None else cores

    def spent() -> Effort:
        return Effort(
            runs.count + sum(one.runs_apart for one in searches),
            sum(one.tally.families for one in searches),
            sum(one.stacks for one in searches),
        )

    def stop(families_open: int) -> None:
        stop_if_asked(should_stop, ends)
        if progress is not None:
            effort = spent()
            progress(families_open, effort.families, effort.physics_runs)

    stopped = None
    shop = workshop(runs, stack=stack, mounting=mounting, stock=stock, rules=rules)
    try:
        for setting in (physics.setting,) if settings is None else settings:
            searches.append(
                BranchAndBound(
                    shop=shop,
                    runs=runs,
                    goal=goal,
                    stock=stock,
                    setting=setting,
                    stop=stop,
                    cores=cores,
                    again=False,
                )
            )
            for changes in range(1, most_changes + 1):
                searches[-1].search(
                    shapes(shop, runs, changes, half=judge.share, setting=setting), changes, aim
                )
    except Stopped as early:
        stopped = early.args[0]
    finally:
        for search in searches:
            search.close()
    unjudged = any(search.tally.unjudged for search in searches)
    return Explored(stopped, stopped is None and not unjudged, spent())
