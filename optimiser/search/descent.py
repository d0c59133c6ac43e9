"""Best-first over families: bound, throw away, split; what is left with one member is judged exactly."""

from __future__ import annotations

import heapq
import itertools
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.packs import PackedStack
from damping_model.stack import Stack
from damping_model.units import MICROMETRE
from optimiser import rank
from optimiser.edits import keys_of, packs_of
from optimiser.goal import Goal
from optimiser.rules import violations
from optimiser.search.aim import Aim, Judge
from optimiser.search.influence import Influence
from optimiser.search.menu import Reach
from optimiser.search.prepare import Workshop
from optimiser.search.runs import Runs
from optimiser.search.shape import Ranges, Shape
from optimiser.stock import ShimKey, Stock

Floats = NDArray[np.float64]

Name = tuple[tuple[ShimKey, ...], ...]
"""A stack, whatever the order inside its packs."""

LOW_SLACK, HIGH_SLACK = 2e-2, 8e-3
"""Share of the force by which the lower and the upper bound are widened. [-]

A bound glues the shims of a pack into one plate, whatever their thickness, and takes each figure of a pack
at its own extreme; what the model makes of the difference was measured over random families of real stacks
(docs/search.md).
"""


class Stopped(Exception):  # noqa: N818
    """The caller asked for an end."""


@dataclass(frozen=True, slots=True)
class Family:
    """Stacks of one shape with a range of choices in each slot, and forces that bound them all."""

    shape: Shape
    ranges: Ranges
    reaches: tuple[Reach, ...]
    low: Floats
    high: Floats


@dataclass(slots=True)
class Tally:
    """What has been looked at."""

    families: int = 0
    leaves: int = 0


class Descent:
    """One search through all stacks within a number of changes, at one setting of the adjusters.

    Parameters
    ----------
    shop, runs, goal, stock : the job.
    influence : how much each place in the stack can do.
    setting : which setting of the adjusters.
    stop : raises :class:`Stopped` when it is time.
    """

    def __init__(
        self,
        *,
        shop: Workshop,
        runs: Runs,
        goal: Goal,
        stock: Stock,
        influence: Influence,
        setting: int,
        stop: Callable[[int], None],
    ) -> None:
        self.shop, self.runs, self.goal, self.stock = shop, runs, goal, stock
        self.influence, self.setting, self.stop = influence, setting, stop
        self.judge = Judge(goal)
        self.tally = Tally()
        self.judged: dict[Name, tuple[Stack, Floats] | None] = {}
        self.unjudged: set[Name] = set()

    def search(self, shapes: Sequence[Shape], changes: int, aim: Aim) -> None:
        """Offer every wanted stack to ``aim``; on return no other one is left.

        The shape that the stack has now comes first, since most answers keep it.

        Raises
        ------
        Stopped
            From ``stop``; what was found until then has been taken.
        """
        for group in (shapes[:1], shapes[1:]):
            self._descend(group, changes, aim)

    def _descend(self, shapes: Sequence[Shape], changes: int, aim: Aim) -> None:
        unbounded = np.full(self.goal.lower.shape, np.inf)
        heap: list[tuple[float, int, Family]] = []
        number = 0
        for shape, ranges in ((s, ranges) for s in shapes for ranges in s.beginnings()):
            self.stop(len(heap))
            for family in self._bounded(shape, ranges, -unbounded, unbounded, changes, aim):
                heapq.heappush(heap, (self._promise(family), number, family))
                number += 1
        while heap:
            self.stop(len(heap))
            _, _, family = heapq.heappop(heap)
            if aim.hopeless(family.low, family.high):
                continue
            for ranges in self._split(family, changes):
                for child in self._bounded(family.shape, ranges, family.low, family.high, changes, aim):
                    heapq.heappush(heap, (self._promise(child), number, child))
                    number += 1

    def _bounded(
        self, shape: Shape, ranges: Ranges, low: Floats, high: Floats, changes: int, aim: Aim
    ) -> Iterator[Family]:
        """The family with its own bounds, unless it is thrown away; a single stack is judged at once."""
        reaches = shape.narrowed(ranges, changes)
        if reaches is None or not shape.may_rise(reaches) or not self._height_fits(reaches):
            return
        if all(reach.choices == 1 for reach in reaches):
            self._judge(shape, ranges, reaches, changes, aim)
            return
        self.tally.families += 1
        from_above = self._shortfall(high) >= self._excess(low)
        for stiff in (True, False) if from_above else (False, True):
            if stiff:
                corner: PackedStack | None = shape.stiffest(ranges, reaches, changes)
            else:
                corner = shape.softest(ranges, reaches, changes, self.shop.thickest)
            forces = None if corner is None else self.runs.forces(corner, self.setting)
            if forces is not None:
                slack = (HIGH_SLACK if stiff else LOW_SLACK) * np.abs(forces)
                if stiff:
                    high = np.minimum(high, forces + slack)
                else:
                    low = np.maximum(low, forces - slack)
            if aim.hopeless(low, high):
                return
        yield Family(shape, ranges, reaches, low, high)

    def _shortfall(self, high: Floats) -> float:
        return float(np.max((self.goal.lower - high) / self.judge.half))

    def _excess(self, low: Floats) -> float:
        return float(np.max((low - self.goal.upper) / self.judge.half))

    def _height_fits(self, reaches: Sequence[Reach]) -> bool:
        grain = MICROMETRE / 2
        low, high = sum(r.low for r in reaches), sum(r.high for r in reaches)
        return low <= self.goal.most_height + grain and high + self._rings >= self.goal.least_height - grain

    @property
    def _rings(self) -> float:
        return (
            sum(key.thickness for pack in self.shop.packs for key in (*pack.before, *pack.after)) * MICROMETRE
        )

    def _promise(self, family: Family) -> float:
        """Order of work: the family whose middle lies least outside the windows comes first."""
        if not (np.isfinite(family.low).all() and np.isfinite(family.high).all()):
            return float("inf")
        return self.judge.misfit((family.low + family.high) / 2)

    def _split(self, family: Family, changes: int) -> Iterator[Ranges]:
        """Part the slot that matters most: less than now, as now, more; then by halves of stiffness."""
        slots = family.shape.slots
        loose = [place for place, reach in enumerate(family.reaches) if reach.choices > 1]
        place = max(loose, key=lambda p: (self.influence.of(family.shape, p, family.reaches[p]), -p))
        menu, (start, stop), reach = slots[place].menu, family.ranges[place], family.reaches[place]
        out = family.shape.dropped + sum(r.least_out for r in family.reaches) - reach.least_out
        put_in = sum(r.least_in for r in family.reaches) - reach.least_in
        kept = menu.places(start, stop, changes - out, changes - put_in)
        first, last = int(kept[0]), int(kept[-1]) + 1
        if first <= menu.now < last:
            cuts = [first, menu.now, menu.now + 1, last]
        else:
            stiffness = menu.figures[kept, 0]
            middle = (stiffness[0] + stiffness[-1]) / 2
            at = int(np.searchsorted(stiffness, middle, side="right"))
            if not 0 < at < kept.size:
                at = kept.size // 2
            cuts = [first, int(kept[at]), last]
        for one, two in itertools.pairwise(cuts):
            if one < two:
                yield (*family.ranges[:place], (one, two), *family.ranges[place + 1 :])

    def _judge(self, shape: Shape, ranges: Ranges, reaches: Sequence[Reach], changes: int, aim: Aim) -> None:
        out = shape.dropped + sum(r.least_out for r in reaches)
        put_in = sum(r.least_in for r in reaches)
        choice = [
            int(
                slot.menu.places(
                    start, stop, changes - out + reach.least_out, changes - put_in + reach.least_in
                )[0]
            )
            for slot, (start, stop), reach in zip(shape.slots, ranges, reaches, strict=True)
        ]
        stack = shape.stack(choice)
        name = tuple(tuple(sorted(pack)) for pack in packs_of(keys_of(stack)))
        if name in self.judged:
            known = self.judged[name]
        else:
            self.judged[name] = known = self._exact(stack, name)
        if known is not None and aim.wants(known[1]):
            self._take(*known, aim)

    def _exact(self, stack: Stack, name: Name) -> tuple[Stack, Floats] | None:
        """A buildable stack with its forces."""
        if not self.buildable(stack):
            return None
        self.tally.leaves += 1
        forces = self.runs.forces(self.runs.physics.packed(stack), self.setting)
        if forces is None:
            self.unjudged.add(name)
            return None
        return stack, forces

    def exact(self) -> Iterator[tuple[Stack, Floats]]:
        """Every stack that was judged, in order of judging."""
        return (known for known in self.judged.values() if known is not None)

    def _take(self, stack: Stack, forces: Floats, aim: Aim) -> None:
        aim.take(
            rank.candidate(
                old=self.shop.stack,
                new=stack,
                setting=self.setting,
                forces=forces,
                goal=self.goal,
                stock=self.stock,
            )
        )

    def buildable(self, stack: Stack) -> bool:
        """Whether shelf, height and rules allow a stack."""
        grain = MICROMETRE / 2
        if not self.goal.least_height - grain <= stack.height <= self.goal.most_height + grain:
            return False
        used = Counter(keys_of(stack))
        if any(count > self.shop.available[key] for key, count in used.items()):
            return False
        return not violations(self.shop.rules, stack, self.shop.station)
