"""One shelf for the jobs of a day: which candidate each of them gets, so that no shim is reserved twice.

Most jobs served first, those of a lower order before the others; then fewest shims changed, then the
least miss, then the fewest types that become low.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from optimiser.allocation.solver import InTurn
from optimiser.model.stock import ShimKey

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

SCALE: Final = 1e6
"""Misses are whole multiples of a part in so many of the force. [-]"""

SECONDS: Final = 10.0
"""For each of the objectives; what is not settled by then stands unproven. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobOption:
    """One candidate of one job.

    Parameters
    ----------
    rank : as its plan counts it, from 1.
    taken : what it needs from the shelf.
    changes : shims that leave or come.
    miss : largest distance from what was wanted, as a share of the force. [-]
    """

    rank: int
    taken: Mapping[ShimKey, int]
    changes: int
    miss: float


@dataclass(frozen=True, slots=True, kw_only=True)
class JobOptions:
    """A job and what may be built for it.

    Parameters
    ----------
    name : of the job.
    options : its candidates; none for a job that no stack serves.
    order : jobs of a lower order are served first: a promised day, a rider who waits.
    weight : of the job among those of its order.
    pinned : rank of the only candidate that will do; None for any.
    """

    name: str
    options: tuple[JobOption, ...]
    order: int = 0
    weight: int = 1
    pinned: int | None = None

    @property
    def open(self) -> tuple[JobOption, ...]:
        """The candidates that will do."""
        return tuple(one for one in self.options if self.pinned in {None, one.rank})


@dataclass(frozen=True, slots=True)
class DayChoice:
    """What each job gets.

    Parameters
    ----------
    chosen : by job; None for one that the shelf cannot serve beside the others.
    proven : whether no other choice is better in the order above.
    """

    chosen: Mapping[str, JobOption | None]
    proven: bool

    @property
    def served(self) -> tuple[str, ...]:
        """The jobs that get something."""
        return tuple(name for name, one in self.chosen.items() if one is not None)


def best_day(
    jobs: Sequence[JobOptions],
    shelf: Mapping[ShimKey, int],
    *,
    low_at: Mapping[ShimKey, int] | None = None,
    seconds: float = SECONDS,
) -> DayChoice:
    """The best choice of one candidate a job.

    Parameters
    ----------
    jobs : of the day, each with a name of its own.
    shelf : what is free.
    low_at : counts at which the shop calls a type low.
    seconds : for each objective. [s]
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    takes = choices(model, jobs)
    for key, used in used_of(takes).items():
        model.add(
            cp_model.LinearExpr.weighted_sum([n for n, _ in used], [c for _, c in used]) <= shelf.get(key, 0)
        )
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    proven = True
    for objective in _objectives(model, jobs, takes, shelf, low_at or {}):
        model.minimize(objective)
        status = solver.solve(model)
        proven = proven and status == cp_model.OPTIMAL
        if status not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            break
        model.add(objective <= round(solver.objective_value))
    found: dict[str, JobOption | None] = dict.fromkeys((job.name for job in jobs), None)
    if solver.response_proto.solution:
        for job, option, take in takes:
            if solver.value(take):
                found[job.name] = option
    return DayChoice(found, proven)


Take = tuple[JobOptions, JobOption, "cp_model.IntVar"]
"""A job, one of its candidates, and whether it is taken."""


def choices(model: cp_model.CpModel, jobs: Sequence[JobOptions]) -> list[Take]:
    """Whether each candidate is taken, of every job at most one."""
    takes: list[Take] = []
    for job in jobs:
        own = [model.new_bool_var(f"{job.name} {option.rank}") for option in job.open]
        model.add_at_most_one(own)
        takes += [(job, option, take) for option, take in zip(job.open, own, strict=True)]
    return takes


def used_of(takes: Sequence[Take]) -> dict[ShimKey, list[tuple[cp_model.IntVar, int]]]:
    """For every type which candidates take it, and how many."""
    used: dict[ShimKey, list[tuple[cp_model.IntVar, int]]] = {}
    for _, option, take in takes:
        for key, count in option.taken.items():
            used.setdefault(key, []).append((take, count))
    return used


def sum_of(terms: Sequence[tuple[cp_model.IntVar, int]]) -> cp_model.LinearExpr:
    """Variables times their weights, added up."""
    from ortools.sat.python import cp_model

    return cp_model.LinearExpr.weighted_sum([one for one, _ in terms], [weight for _, weight in terms])


def chosen_of(
    jobs: Sequence[JobOptions], takes: Sequence[Take], settled: InTurn
) -> dict[str, JobOption | None]:
    """What each job gets; None for one that gets nothing."""
    found: dict[str, JobOption | None] = dict.fromkeys((job.name for job in jobs), None)
    if settled.solver is not None:
        found |= {job.name: option for job, option, take in takes if settled.solver.value(take)}
    return found


def _objectives(
    model: cp_model.CpModel,
    jobs: Sequence[JobOptions],
    takes: Sequence[Take],
    shelf: Mapping[ShimKey, int],
    low_at: Mapping[ShimKey, int],
) -> list[cp_model.LinearExpr]:
    """What is to be as small as can be, the first first."""
    from ortools.sat.python import cp_model

    every = [take for _, _, take in takes]

    def total(weights: Sequence[int]) -> cp_model.LinearExpr:
        return cp_model.LinearExpr.weighted_sum(every, weights)

    orders = sorted({job.order for job in jobs})
    served = [total([-job.weight if job.order == order else 0 for job, _, _ in takes]) for order in orders]
    changes = total([option.changes for _, option, _ in takes])
    miss = total([math.ceil(SCALE * option.miss) for _, option, _ in takes])
    lows = []
    for key, used in used_of(takes).items():
        if key in low_at and shelf.get(key, 0) > low_at[key]:
            low = model.new_bool_var(f"{key} low")
            left = shelf[key] - low_at[key] - 1
            model.add(sum_of(used) <= left).only_enforce_if(low.negated())
            lows.append(low)
    return [*served, changes, miss, cp_model.LinearExpr.sum(lows)]
