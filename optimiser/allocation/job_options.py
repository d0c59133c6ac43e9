"""A job and what may be built for it, as a shelf that many jobs want looks at it; whether each is taken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from optimiser.allocation.solver import InTurn
from optimiser.model.stock import ShimKey

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

Readings = Mapping[ShimKey, tuple[int, ...]]
"""What single shims of a type measure, one entry a shim. [um]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobOption:
    """One candidate of one job.

    Parameters
    ----------
    rank : as its plan counts it, from 1.
    taken : what it needs from the shelf.
    changes : shims that leave or come.
    miss : largest distance from what was wanted, as a share of the force. [-]
    readings : what those measure that are meant, of types of which single shims are. [um]
    exact : whether no other shims of those types do: it was planned with what they measure.
    """

    rank: int
    taken: Mapping[ShimKey, int]
    changes: int
    miss: float
    readings: Readings = field(default_factory=dict)
    exact: bool = False


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
