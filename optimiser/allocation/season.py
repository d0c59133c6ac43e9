"""What to buy for a season: how many of its jobs the shelf then serves, against the price, as a curve.

Jobs of a season come one after another. What a job takes from the shelf rides away with the damper; what
comes out of a damper is not counted on, since it is worn by then. So only sums count, not the order.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from optimiser.allocation.job_options import JobOption
from optimiser.allocation.solver import least_in_turn
from optimiser.model.stock import ShimKey

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

HUNDREDTHS: Final = 100
"""Prices are whole hundredths of the shop's currency."""

MISS_SCALE: Final = 1e6
"""Misses are whole multiples of a part in so many of the force. [-]"""

SECONDS: Final = 20.0
"""For each objective of each point; what is not settled by then stands unproven. [s]"""

EQUALS_SECONDS: Final = 3.0
"""The same for what is chosen among purchases of one price that serve as many. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonJob:
    """A job that comes back in a season.

    Parameters
    ----------
    name : of the job.
    options : what may be built for it, from shelf or catalogue; none for one that no stack serves.
    times : how often it comes.
    """

    name: str
    options: tuple[JobOption, ...]
    times: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedPack:
    """A type that can be bought at a known price.

    Parameters
    ----------
    key : the type.
    hundredths : price of one pack, in hundredths of the shop's currency.
    pieces : in a pack.
    """

    key: ShimKey
    hundredths: int
    pieces: int


@dataclass(frozen=True, slots=True)
class SeasonPoint:
    """One point of the curve: a purchase, and what the shelf serves with it.

    Parameters
    ----------
    packs : to buy, of each type.
    hundredths : price of them all, in hundredths of the shop's currency.
    chosen : for each job what is built, as often as it is served; empty where it is not.
    proven : whether no cheaper purchase serves as many, and none as cheap serves more.
    """

    packs: Mapping[ShimKey, int]
    hundredths: int
    chosen: Mapping[str, tuple[JobOption, ...]]
    proven: bool

    @property
    def price(self) -> float:
        """Of all packs, in the shop's currency."""
        return self.hundredths / HUNDREDTHS

    @property
    def served(self) -> int:
        """How many jobs are served."""
        return sum(map(len, self.chosen.values()))

    @property
    def used(self) -> Mapping[ShimKey, int]:
        """What the season takes in all, of each type."""
        used: dict[ShimKey, int] = {}
        for option in (one for options in self.chosen.values() for one in options):
            for key, count in option.taken.items():
                used[key] = used.get(key, 0) + count
        return used


@dataclass(frozen=True, slots=True)
class SeasonCurve:
    """Coverage against price.

    Parameters
    ----------
    points : the cheapest first; each serves more than the one before. The first costs nothing.
    asked : how many jobs the season has.
    proven : whether every point is, and that no purchase serves more than the last.
    """

    points: tuple[SeasonPoint, ...]
    asked: int
    proven: bool


def season_curve(
    jobs: Sequence[SeasonJob],
    shelf: Mapping[ShimKey, int],
    sold: Sequence[PricedPack],
    *,
    seconds: float = SECONDS,
) -> SeasonCurve:
    """Every purchase that is worth its price: no cheaper one serves as many jobs [1]_.

    Of purchases that serve as many at the same price, the one of the fewest packs is named; then the fewest
    shims are changed, with the least miss.

    Parameters
    ----------
    jobs : of the season, each with a name of its own.
    shelf : what is free.
    sold : what can be bought, one a type.
    seconds : for each objective of each point. [s]

    References
    ----------
    .. [1] M. Ehrgott, *Multicriteria Optimization*, 2nd ed., Springer 2005, sec. 4.1: one objective is
       bounded while the other is made least, from one end of the curve to the other.
    """
    points: list[SeasonPoint] = []
    least = 0
    while True:
        found = _point(jobs, shelf, sold, least=least, seconds=seconds)
        if isinstance(found, bool):
            ended = found
            break
        points.append(found)
        least = points[-1].served + 1
    return SeasonCurve(
        tuple(points),
        asked=sum(job.times for job in jobs),
        proven=ended and all(point.proven for point in points),
    )


def _point(
    jobs: Sequence[SeasonJob],
    shelf: Mapping[ShimKey, int],
    sold: Sequence[PricedPack],
    *,
    least: int,
    seconds: float,
) -> SeasonPoint | bool:
    """The cheapest purchase that serves at least so many jobs, and what serves the most at that price.

    Where there is none, whether that is proven.
    """
    model = _SeasonModel([_of_least_shims(job) for job in jobs], shelf, sold)
    model.model.add(model.served >= least)
    settled = least_in_turn(model.model, (model.price, -model.served), seconds=seconds)
    if settled.solver is None:
        return settled.proven
    cheapest = model.point(settled.solver, proven=settled.proven)
    model = _SeasonModel(jobs, shelf, sold)
    model.model.add(model.price <= cheapest.hundredths)
    model.model.add(model.served >= cheapest.served)
    better = least_in_turn(model.model, model.among_equals, seconds=min(seconds, EQUALS_SECONDS))
    if better.solver is None:
        return cheapest
    return model.point(better.solver, proven=settled.proven)


def _of_least_shims(job: SeasonJob) -> SeasonJob:
    """The job without options that take all that another one takes and more: no price needs them."""
    kept: list[JobOption] = []
    for one in sorted(job.options, key=lambda one: sum(one.taken.values())):
        if not any(_within(other.taken, one.taken) for other in kept):
            kept.append(one)
    return replace(job, options=tuple(kept))


def _within(some: Mapping[ShimKey, int], all_of: Mapping[ShimKey, int]) -> bool:
    return all(count <= all_of.get(key, 0) for key, count in some.items())


class _SeasonModel:
    """Whole numbers: how often each option is built, how many packs of each type are bought."""

    def __init__(
        self, jobs: Sequence[SeasonJob], shelf: Mapping[ShimKey, int], sold: Sequence[PricedPack]
    ) -> None:
        from ortools.sat.python import cp_model

        self.model = cp_model.CpModel()
        self.jobs, self.shelf = jobs, shelf
        self.sold = {one.key: one for one in sold}
        self.built = [
            (job, option, self.model.new_int_var(0, job.times, f"{job.name} {option.rank}"))
            for job in jobs
            for option in job.options
        ]
        self.packs: dict[ShimKey, cp_model.IntVar] = {}
        self._each_job_as_often_as_it_comes()
        self._no_shim_that_is_not_there()

    def _each_job_as_often_as_it_comes(self) -> None:
        for job in self.jobs:
            own = [count for owner, _, count in self.built if owner is job]
            if own:
                self.model.add(_total(own) <= job.times)

    def _no_shim_that_is_not_there(self) -> None:
        users: dict[ShimKey, list[tuple[SeasonJob, cp_model.IntVar, int]]] = {}
        for job, option, count in self.built:
            for key, each in option.taken.items():
                users.setdefault(key, []).append((job, count, each))
        for key, own in users.items():
            counts, weights = [count for _, count, _ in own], [each for _, _, each in own]
            pack = self.sold.get(key)
            if pack is not None:
                needed = sum(
                    job.times * max(each for owner, _, each in own if owner is job)
                    for job in self.jobs
                    if any(owner is job for owner, _, _ in own)
                )
                most = math.ceil(max(needed - self.shelf.get(key, 0), 0) / pack.pieces)
                self.packs[key] = self.model.new_int_var(0, most, f"packs of {key}")
                counts, weights = [*counts, self.packs[key]], [*weights, -pack.pieces]
            self.model.add(_total(counts, weights) <= self.shelf.get(key, 0))

    @property
    def price(self) -> cp_model.LinearExpr:
        """Of all packs."""
        return _total([*self.packs.values()], [self.sold[key].hundredths for key in self.packs])

    @property
    def served(self) -> cp_model.LinearExpr:
        """How many jobs are."""
        return _total([count for _, _, count in self.built])

    @property
    def among_equals(self) -> tuple[cp_model.LinearExpr, ...]:
        """What is small in the better of two purchases at one price that serve as many."""
        every = [count for _, _, count in self.built]
        return (
            _total([*self.packs.values()]),
            _total(every, [option.changes for _, option, _ in self.built]),
            _total(every, [math.ceil(MISS_SCALE * option.miss) for _, option, _ in self.built]),
        )

    def point(self, solver: cp_model.CpSolver, *, proven: bool) -> SeasonPoint:
        """The purchase that was found."""
        bought = {key: solver.value(count) for key, count in self.packs.items() if solver.value(count)}
        chosen: dict[str, tuple[JobOption, ...]] = dict.fromkeys((job.name for job in self.jobs), ())
        for job, option, count in self.built:
            chosen[job.name] += (option,) * solver.value(count)
        price = sum(count * self.sold[key].hundredths for key, count in bought.items())
        return SeasonPoint(bought, price, chosen, proven)


def _total(counts: Sequence[cp_model.IntVar], weights: Sequence[int] | None = None) -> cp_model.LinearExpr:
    from ortools.sat.python import cp_model

    return cp_model.LinearExpr.weighted_sum(counts, [1] * len(counts) if weights is None else weights)
