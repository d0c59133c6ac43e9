"""Best-first over families: ask, throw away, split; what is left with few members is judged one by one.

A family's softest and stiffest stack are asked whether they reach a level at one velocity, the likeliest to
close the family first. How far from the level they are thought to lie says what to ask next.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.packs import PackedStack
from damping_model.stack import Stack
from damping_model.units import MICROMETRE
from optimiser import rank
from optimiser.edits import keys_of, packs_of
from optimiser.goal import Goal
from optimiser.plan import Candidate
from optimiser.search.aim import Aim, Judge
from optimiser.search.asking import OLD, Asking
from optimiser.search.family import Family, beginnings
from optimiser.search.node import SOFT, STIFF, Node
from optimiser.search.runs import Question, Runs, Whole
from optimiser.search.shape import Shape
from optimiser.search.workshop import Workshop
from optimiser.stock import ShimKey, Stock

Floats = NDArray[np.float64]

Name = tuple[tuple[ShimKey, ...], ...]
"""A stack, whatever the order inside its packs."""

BATCH = 32
"""Families that are split before any of their parts is bounded: enough work for several cores. [-]"""

FEW = 12
"""A family of no more members than this is looked through for those that can be built. [-]"""

RIPE = 4
"""Single stacks that are judged at a time: each may spare others. [-]"""

DIRECT = 2
"""So many that can be built are judged rather than bounded. [-]"""

ASKED = 4
"""Levels that may leave a family open before it is split. [-]"""


class Stopped(Exception):  # noqa: N818
    """The caller asked for an end."""


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
        self.asking = Asking(goal, self.judge, runs.physics)
        self.tally = Tally()
        self.names: set[Name] = set()
        self.looked_at: dict[Name, Stack | None] = {}
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
        fresh = [node for family in families if self._possible(family) for node in self._nodes(family, None)]
        heap = [(self._promise(node), number, node) for number, node in enumerate(nodes)]
        heapq.heapify(heap)
        number = len(heap)
        while fresh or heap:
            self.stop(len(heap) + len(fresh))
            batch: list[Node] = []
            ripe: list[Node] = []
            if fresh:
                batch, fresh = fresh[:BATCH], fresh[BATCH:]
                self._think(batch)
            while heap and len(batch) < BATCH and len(ripe) < RIPE:
                node = heapq.heappop(heap)[2]
                if aim.hopeless(*node.bounds):
                    self._close(node)
                elif self.asking.next(node, aim, self.asking.nothing, again=True) is not None:
                    batch.append(node)  # more is asked by now than when it was last looked at
                elif node.ripe:
                    ripe.append(node)
                elif node.made is not None:
                    batch.append(node)
                else:
                    batch += self._parts(node)
            self._judge(ripe, aim)
            for node in self._bounded(batch, aim):
                number += 1
                heapq.heappush(heap, (self._promise(node), number, node))

    def _possible(self, family: Family) -> bool:
        return family.possible(least_height=self.goal.least_height, most_height=self.goal.most_height)

    def _parts(self, parent: Node) -> Iterator[Node]:
        """Parts of a family that may have a member; its members themselves when they are few."""
        for family in parent.family.split():
            if self._possible(family):
                yield from self._nodes(family, parent)

    def _nodes(self, family: Family, parent: Node | None) -> Iterator[Node]:
        """One node, or one for each member that can be built and was not come to before."""
        if parent is None:
            unknown = np.full(self.goal.lower.shape, np.inf)
            bounds = thought = np.array([-unknown, unknown])
            age = np.ones(thought.shape)
        else:
            bounds, thought, age = parent.bounds, parent.thought, parent.age
        if family.most_members <= FEW:
            new = {name: made for name, made in self._built(family) if name not in self.names}
            if len(new) <= DIRECT or family.most_members == 1:
                for name, made in new.items():
                    self.names.add(name)
                    self.tally.leaves += 1
                    yield Node(family, bounds, thought, age + OLD, np.full(age.shape, np.inf), made)
                return
        yield Node(family, bounds, thought, age + 1.0, np.full(age.shape, np.inf))

    def _built(self, family: Family) -> Iterator[tuple[Name, Stack]]:
        """Members that can be built; each is looked at once, however many families it belongs to."""
        for keys in family.members():
            name = _name(keys)
            if name not in self.looked_at:
                made = Stack(tuple(key.shim for key in keys))
                self.looked_at[name] = made if self.buildable(made) else None
            if (known := self.looked_at[name]) is not None:
                yield name, known

    def _think(self, nodes: Sequence[Node]) -> None:
        """Estimate the ends of families that nothing is known of."""
        ends = [
            (node, end, plates)
            for node in nodes
            for end in (SOFT, STIFF)
            if (plates := node.plates(end, self.runs.physics)) is not None
        ]
        forces = self.runs.estimates([plates for _, _, plates in ends], self.setting)
        for (node, end, _), given in zip(ends, forces, strict=True):
            if given is not None:
                node.thought = node.thought.copy()
                node.thought[end] = np.log(np.maximum(given, rank.LEAST_FORCE))

    def _bounded(self, batch: Sequence[Node], aim: Aim) -> Iterator[Node]:
        """Families and single stacks with bounds of their own, unless these close them."""
        self.tally.families += sum(node.made is None for node in batch)
        left = [(node, self.asking.nothing.copy(), ASKED) for node in batch]
        done: list[Node] = []
        while left:
            asking = []
            for node, asked, misses in left:
                one = self.asking.next(node, aim, asked) if misses or node.made is not None else None
                if one is None:
                    done.append(node)
                else:
                    asked[one.end, one.level.place] = True
                    asking.append((node, asked, misses, one))
            answers = self.runs.ask(
                [Question(self._corner(node, one.end), self.setting, one.level) for node, _, _, one in asking]
            )
            left = []
            for (node, asked, misses, one), answer in zip(asking, answers, strict=True):
                bounds = self.asking.learn(node, one, answer)
                if aim.hopeless(*node.bounds):
                    self._close(node)
                else:
                    left.append((node, asked, misses if bounds else misses - 1))
        for node in done:
            node.ripe = node.made is not None
        return iter(done)

    def _close(self, node: Node) -> None:
        """Put a family or a stack away that is not wanted now; its plates can be made again."""
        node.corners.clear()
        self.closed.append(node)

    def _corner(self, node: Node, end: int) -> PackedStack:
        """Plates of an end that is known to have some."""
        plates = node.plates(end, self.runs.physics)
        assert plates is not None  # noqa: S101
        return plates

    def _promise(self, node: Node) -> float:
        """Order of work: the family whose middle lies least outside the windows comes first."""
        if node.forces is not None:
            return self.judge.misfit(node.forces)
        if not np.isfinite(node.thought).all():
            return float("inf")
        return self.judge.misfit(np.exp(node.thought.mean(axis=0)))

    def _judge(self, nodes: Sequence[Node], aim: Aim) -> None:
        """Judge single stacks whose bounds leave hope by their forces."""
        unsure = [node for node in nodes if node.forces is None]
        questions = [Question(self._corner(node, STIFF), self.setting, Whole.EXACT) for node in unsure]
        for node, forces in zip(unsure, self.runs.ask(questions), strict=True):
            if forces is not None:
                node.forces, node.bounds = forces, np.array([forces, forces])
        for node in nodes:
            if node.made is None:
                continue
            if node.forces is None:
                self.unjudged.add(_name(keys_of(node.made)))
            elif aim.wants(node.forces):
                aim.take(self.candidate(node.made, node.forces))
            else:
                self._close(node)

    def nearest(self) -> Candidate | None:
        """The stack with the least misfit of all that were judged exactly and are not wanted."""
        judged = [(node.made, node.forces) for node in self.closed]
        known = [(made, forces) for made, forces in judged if made is not None and forces is not None]
        best = min(known, key=lambda one: self.judge.misfit(one[1]), default=None)
        return None if best is None else self.candidate(*best)

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
        used = Counter(keys_of(stack))
        if any(count > self.shop.available[key] for key, count in used.items()):
            return False
        if not self.goal.least_height - grain <= stack.height <= self.goal.most_height + grain:
            return False
        return not any(rule.violations(stack, self.shop.station) for rule in self.shop.rules)


def _name(keys: Sequence[ShimKey]) -> Name:
    return tuple(tuple(sorted(pack)) for pack in packs_of(keys))
