"""Best-first over families: bound, throw away, split; what is left with few members is judged one by one."""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from damping_model.packs import PackedStack
from damping_model.stack import Stack
from damping_model.units import MICROMETRE
from optimiser import rank
from optimiser.edits import keys_of, packs_of
from optimiser.goal import Goal
from optimiser.plan import Candidate
from optimiser.rules import violations
from optimiser.search.aim import Aim, Judge
from optimiser.search.corners import softest, stiffest
from optimiser.search.family import Family, beginnings
from optimiser.search.runs import Question, Runs
from optimiser.search.shape import Shape
from optimiser.search.workshop import Workshop
from optimiser.stock import ShimKey, Stock

Floats = NDArray[np.float64]

Name = tuple[tuple[ShimKey, ...], ...]
"""A stack, whatever the order inside its packs."""

SETTLED_SLACK, MOVED_SLACK = (5e-3, 5e-3), (8e-3, 12e-3)
"""Shares of the force by which the lower and the upper bound are widened: where every crossover stays, and
where one is new, gone or moved. [-]

A bound glues the shims of a pack into one plate, whatever their thickness; and the model itself breaks its
order a little where a gap has just closed (docs/search.md has what was measured).
"""

BATCH = 32
"""Families that are split before any of their parts is bounded: enough work for several cores. [-]"""

FEW = 12
"""A family of no more members than this is looked through for those that can be built. [-]"""

DIRECT = 2
"""So many that can be built are judged rather than bounded. [-]"""


class Stopped(Exception):  # noqa: N818
    """The caller asked for an end."""


@dataclass(slots=True)
class Node:
    """A family, or a single stack, and the forces that bound it.

    Parameters
    ----------
    family : the family; that of a single stack, too.
    low, high : bounds of every member's force. [N]
    made : the single stack.
    todo : bounds that have not been asked for: which end, and which part.
    """

    family: Family
    low: Floats
    high: Floats
    made: Stack | None = None
    todo: list[tuple[bool, int]] = field(default_factory=list)
    corners: dict[bool, PackedStack | None] = field(default_factory=dict)


@dataclass(slots=True)
class Tally:
    """What has been looked at."""

    families: int = 0
    leaves: int = 0
    stacks: int = 0


class Descent:
    """One search through all stacks with so many changes, at one setting of the adjusters.

    Parameters
    ----------
    shop, runs, goal, stock : the job.
    setting : which setting of the adjusters.
    stop : raises :class:`Stopped` when it is time; told how many families are open.
    """

    def __init__(
        self,
        *,
        shop: Workshop,
        runs: Runs,
        goal: Goal,
        stock: Stock,
        setting: int,
        stop: Callable[[int], None],
    ) -> None:
        self.shop, self.runs, self.goal, self.stock = shop, runs, goal, stock
        self.setting, self.stop = setting, stop
        self.judge = Judge(goal)
        self.tally = Tally()
        self.names: set[Name] = set()
        self.unjudged: set[Name] = set()
        self.closed: list[Node] = []

    def search(self, shapes: Sequence[Shape], changes: int, aim: Aim) -> None:
        """Offer every wanted stack with just so many changes to ``aim``; on return no other one is left.

        The shape that the stack has now comes first, since most answers keep it.

        Raises
        ------
        Stopped
            From ``stop``; what was found until then has been taken.
        """
        for group in (shapes[:1], shapes[1:]):
            self._descend((f for shape in group for f in beginnings(shape, changes)), (), aim)
        self.tally.stacks += sum(
            shape.ways(out, put_in)
            for shape in shapes
            for out in range(changes + 1)
            for put_in in range(changes + 1)
            if max(out, put_in) == changes
        )

    def search_again(self, aim: Aim) -> None:
        """Offer every wanted stack among all that have been searched, from the bounds that closed them."""
        closed, self.closed = self.closed, []
        self._descend((), closed, aim)

    def _descend(self, families: Iterable[Family], nodes: Iterable[Node], aim: Aim) -> None:
        everything = np.full(self.goal.lower.shape, np.inf)
        heap: list[tuple[float, int, Node]] = []
        number = 0
        fresh = [
            node
            for family in families
            if self._possible(family)
            for node in self._nodes(family, -everything, everything)
        ]
        again = list(nodes)
        while fresh or again or heap:
            self.stop(len(heap) + len(fresh))
            batch: list[Node] = []
            while again:
                node = again.pop()
                if aim.hopeless(node.low, node.high):
                    self._close(node)
                else:
                    number += 1
                    heapq.heappush(heap, (self._promise(node), number, node))
            if fresh:
                batch, fresh = fresh[:BATCH], fresh[BATCH:]
            else:
                parents = [heapq.heappop(heap)[2] for _ in range(min(BATCH, len(heap)))]
                for node in parents:
                    if aim.hopeless(node.low, node.high):
                        self._close(node)
                    else:
                        batch += self._children(node)
            for node in self._bounded(batch, aim):
                number += 1
                heapq.heappush(heap, (self._promise(node), number, node))

    def _possible(self, family: Family) -> bool:
        return family.possible(least_height=self.goal.least_height, most_height=self.goal.most_height)

    def _children(self, parent: Node) -> Iterator[Node]:
        """Parts of a family that may have a member; its members themselves when they are few."""
        if parent.made is not None:
            yield parent
            return
        for family in parent.family.split():
            if self._possible(family):
                yield from self._nodes(family, parent.low, parent.high)

    def _nodes(self, family: Family, low: Floats, high: Floats) -> Iterator[Node]:
        """One node, or one for each member that can be built and was not come to before."""
        if family.most_members <= FEW:
            built = [(made, _name(made)) for made in family.members() if self.buildable(made)]
            new = [(made, name) for made, name in built if name not in self.names]
            if len(new) <= DIRECT or family.most_members == 1:
                for made, name in new:
                    self.names.add(name)
                    self.tally.leaves += 1
                    yield Node(family, low, high, made)
                return
        yield Node(family, low, high)

    def _bounded(self, batch: Sequence[Node], aim: Aim) -> Iterator[Node]:
        """Families with bounds of their own, unless they are closed; single stacks are judged on the way."""
        for node in batch:
            self.tally.families += node.made is None
            node.todo = self._order(node)
        open_nodes = list(batch)
        done: list[Node] = []
        while open_nodes:
            asking = [(node, node.todo.pop()) for node in open_nodes]
            asked = [(node, what, self._plates(node, what[0])) for node, what in asking]
            answers = iter(
                self.runs.ask(
                    [
                        Question(plates, self.setting, what[1])
                        for _, what, plates in asked
                        if plates is not None
                    ]
                )
            )
            left = []
            for node, what, plates in asked:
                if plates is not None:
                    self._narrow(node, what, next(answers))
                if aim.hopeless(node.low, node.high):
                    self._close(node)
                elif node.todo:
                    left.append(node)
                else:
                    done.append(node)
            open_nodes = left
        self._judge([node for node in done if node.made is not None], aim)
        return (node for node in done if node.made is None)

    def _order(self, node: Node) -> list[tuple[bool, int]]:
        """Bounds to ask for, the one that is likeliest to close the family last."""
        ends = (True,) if node.made is not None else (True, False)
        return sorted(
            ((stiff, part) for part in range(len(self.runs.physics.parts)) for stiff in ends),
            key=lambda what: (self._hope(node, *what), what),
        )

    def _close(self, node: Node) -> None:
        """Put a family or a stack away that is not wanted now; its plates can be made again."""
        node.corners.clear()
        self.closed.append(node)

    def _hope(self, node: Node, stiff: bool, part: int) -> float:
        """How near a bound is to closing a family, in half-widths of a window."""
        at = self.runs.physics.parts[part]
        if at.size == 0:
            return -np.inf
        short = (self.goal.lower - node.high)[at] / self.judge.half[at]
        over = (node.low - self.goal.upper)[at] / self.judge.half[at]
        return float(
            max(short.max(), over.max()) if node.made is not None else (short if stiff else over).max()
        )

    def _plates(self, node: Node, stiff: bool) -> PackedStack | None:
        if stiff not in node.corners:
            if node.made is not None:
                node.corners[stiff] = self.runs.physics.packed(node.made)
            else:
                node.corners[stiff] = (stiffest if stiff else softest)(node.family)
        return node.corners[stiff]

    def _narrow(self, node: Node, what: tuple[bool, int], forces: Floats | None) -> None:
        if forces is None:
            return
        stiff, part = what
        at = self.runs.physics.parts[part]
        doubt = self.runs.physics.doubt
        low, high = node.low.copy(), node.high.copy()
        if node.made is not None:
            low[at] = np.maximum(low[at], forces - doubt * np.abs(forces))
            high[at] = np.minimum(high[at], forces + doubt * np.abs(forces))
        else:
            below, above = SETTLED_SLACK if node.family.shape.settled else MOVED_SLACK
            if stiff:
                high[at] = np.minimum(high[at], forces + (above + doubt) * np.abs(forces))
            else:
                low[at] = np.maximum(low[at], forces - (below + doubt) * np.abs(forces))
        node.low, node.high = low, high

    def _promise(self, node: Node) -> float:
        """Order of work: the family whose middle lies least outside the windows comes first."""
        if not (np.isfinite(node.low).all() and np.isfinite(node.high).all()):
            return float("inf")
        return self.judge.misfit((node.low + node.high) / 2)

    def _judge(self, nodes: Sequence[Node], aim: Aim) -> None:
        """Judge single stacks whose bounds leave hope by their forces."""
        unsure = [node for node in nodes if node.low is not node.high]
        asked = [(node, self._plates(node, stiff=True)) for node in unsure]
        questions = [Question(plates, self.setting, None) for _, plates in asked if plates is not None]
        for node, forces in zip(unsure, self.runs.ask(questions), strict=True):
            if forces is not None:
                node.low = node.high = forces
        for node in nodes:
            if node.made is None:
                continue
            if node.low is not node.high:
                self.unjudged.add(_name(node.made))
            elif aim.wants(node.low):
                aim.take(self.candidate(node.made, node.low))
            else:
                self._close(node)

    def nearest(self) -> Candidate | None:
        """The stack with the least misfit of all that were judged exactly and are not wanted."""
        judged = [node for node in self.closed if node.made is not None and node.low is node.high]
        best = min(judged, key=lambda node: self.judge.misfit(node.low), default=None)
        return None if best is None or best.made is None else self.candidate(best.made, best.low)

    def candidate(self, stack: Stack, forces: Floats) -> Candidate:
        """A stack with every figure that it is judged by."""
        return rank.candidate(
            old=self.shop.stack,
            new=stack,
            setting=self.setting,
            forces=forces,
            goal=self.goal,
            stock=self.stock,
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


def _name(stack: Stack) -> Name:
    return tuple(tuple(sorted(pack)) for pack in packs_of(keys_of(stack)))
