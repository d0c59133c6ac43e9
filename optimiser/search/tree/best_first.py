"""Best-first over families: ask, throw away, split; what is left with few members is judged one by one.

A family's softest and stiffest stack are asked whether they reach a level at one velocity, the likeliest to
close the family first. How far from the level they are thought to lie says what to ask next.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.goal import Goal
from optimiser.model.stock import Stock
from optimiser.search.bounds.bound_test import Asking
from optimiser.search.bounds.node import SOFT, STIFF, Node
from optimiser.search.evaluator import Question, Runs, Whole, log_of
from optimiser.search.objective import Judge, Objective
from optimiser.search.space.family import Family
from optimiser.search.space.members import Members
from optimiser.search.space.problem_data import Workshop
from optimiser.search.space.shape import Shape

Floats = NDArray[np.float64]

BATCH = 32
"""Families that are split, or bounded again, before any of them is looked at anew. [-]"""

FEW = 8
"""A family of no more members than this is looked through for those that can be built. [-]"""

RIPE = 4
"""Single stacks that are judged at a time: each may spare others. [-]"""

DIRECT = 2
"""So many that can be built are judged rather than bounded. [-]"""

ASKED = 2
"""Levels that may leave a family open before it is split. [-]"""


@dataclass(slots=True)
class Tally:
    """What has been looked at.

    Parameters
    ----------
    families, leaves : families that were bounded, and single stacks.
    unjudged : single stacks that the model has no answer for.
    """

    families: int = 0
    leaves: int = 0
    unjudged: int = 0

    def __add__(self, other: Tally) -> Tally:
        """Both together."""
        return Tally(
            self.families + other.families, self.leaves + other.leaves, self.unjudged + other.unjudged
        )


class Descent:
    """Families of stacks at one setting of the adjusters, the likeliest first.

    Parameters
    ----------
    shop, runs, goal, stock : the job.
    setting : which setting of the adjusters.
    """

    def __init__(self, *, shop: Workshop, runs: Runs, goal: Goal, stock: Stock, setting: int) -> None:
        self.shop, self.runs, self.goal, self.stock = shop, runs, goal, stock
        self.setting = setting
        self.judge = Judge(goal)
        self.asking = Asking(goal, self.judge, runs.physics)
        self.members = Members(shop, goal)
        self.tally = Tally()
        self.nearest: Candidate | None = None
        self._fresh: list[Node] = []
        self._heap: list[tuple[float, int, Node]] = []
        self._pushed = 0
        self._closed: list[Node] = []

    @property
    def open(self) -> int:
        """Families and stacks that are still to be looked at."""
        return len(self._fresh) + len(self._heap)

    @property
    def shapes(self) -> list[Shape]:
        """Shapes of all families that are open."""
        nodes = self._fresh + [node for *_, node in self._heap]
        return list({id(node.family.shape): node.family.shape for node in nodes}.values())

    def add(self, families: Iterable[Family]) -> None:
        """Families to look at."""
        self._fresh += [node for one in families if self._possible(one) for node in self._nodes(one, None)]

    def reopen(self) -> None:
        """Look again, from the bounds that closed them, at families and stacks that were not wanted."""
        closed, self._closed = self._closed, []
        self.receive(closed)

    def dealt(self, hands: int) -> list[Descent]:
        """All that is open, dealt out to as many descents, each of which knows what this one does."""
        parts = []
        for _ in range(hands):
            part = Descent(
                shop=self.shop, runs=self.runs.apart(), goal=self.goal, stock=self.stock, setting=self.setting
            )
            part.members = self.members.copy()
            parts.append(part)
        for number, node in enumerate(self.given(every=1)):
            parts[number % hands].receive([node])
        return parts

    def given(self, *, every: int) -> list[Node]:
        """Give away one in so many of the nodes that are open, the likeliest first."""
        nodes = self._fresh + [node for *_, node in sorted(self._heap, key=lambda one: one[:2])]
        self._fresh, self._heap = [], []
        given = nodes[every - 1 :: every]
        del nodes[every - 1 :: every]
        self.receive(nodes)
        return given

    def receive(self, nodes: Iterable[Node]) -> None:
        """Take nodes in."""
        for node in nodes:
            self._push(node)

    def step(self, objective: Objective) -> None:
        """Split the likeliest families and bound the parts; offer single members to the objective."""
        batch: list[Node] = []
        ripe: list[Node] = []
        if self._fresh:
            batch, self._fresh = self._fresh[:BATCH], self._fresh[BATCH:]
            self._think(batch)
        while self._heap and len(batch) < BATCH and len(ripe) < RIPE:
            node = heapq.heappop(self._heap)[2]
            if objective.hopeless(*node.bounds):
                self._close(node)
            elif self.asking.next(node, objective, self.asking.nothing, again=True) is not None:
                batch.append(node)  # more is asked by now than when it was last looked at
            elif node.ripe:
                ripe.append(node)
            elif node.made is not None:
                batch.append(node)
            else:
                batch += self._parts(node)
        self._judge(ripe, objective)
        self.receive(self._bounded(batch, objective))

    def _push(self, node: Node) -> None:
        self._pushed += 1
        heapq.heappush(self._heap, (self._promise(node), self._pushed, node))

    def _possible(self, family: Family) -> bool:
        return family.possible(least_height=self.goal.least_height, most_height=self.goal.most_height)

    def _parts(self, parent: Node) -> Iterator[Node]:
        """Parts of a family that may have a member; its members themselves when they are few."""
        for family in parent.family.split():
            if self._possible(family):
                yield from self._nodes(family, parent)

    def _nodes(self, family: Family, parent: Node | None) -> Iterator[Node]:
        """One node, or one for each member that can be built and was not come to before."""
        whole = Node.of_unknown(family, self.goal.lower.size) if parent is None else parent
        if family.most_members <= FEW:
            new = self.members.new(family)
            if len(new) <= DIRECT or family.most_members == 1:
                self.members.take(new)
                self.tally.leaves += len(new)
                yield from (whole.member(family, made) for made in new)
                return
        yield whole if parent is None else whole.part(family)

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
                node.thought[end] = log_of(given)

    def _bounded(self, batch: Sequence[Node], objective: Objective) -> Iterator[Node]:
        """Families and single stacks with bounds of their own, unless these close them."""
        self.tally.families += sum(node.made is None for node in batch)
        left = [(node, self.asking.nothing.copy(), ASKED) for node in batch]
        done: list[Node] = []
        while left:
            asking = []
            for node, asked, misses in left:
                one = self.asking.next(node, objective, asked) if misses or node.made is not None else None
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
                if objective.hopeless(*node.bounds):
                    self._close(node)
                else:
                    left.append((node, asked, misses if bounds else misses - 1))
        for node in done:
            node.ripe = node.made is not None
        return iter(done)

    def _close(self, node: Node) -> None:
        """Put a family or a stack away that is not wanted now; its plates can be made again."""
        node.corners.clear()
        self._closed.append(node)

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

    def _judge(self, nodes: Sequence[Node], objective: Objective) -> None:
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
                self.tally.unjudged += 1
            elif objective.wants(node.forces):
                objective.take(self.candidate(node.made, node.forces))
            else:
                self._note(node.made, node.forces)
                self._close(node)

    def _note(self, made: Stack, forces: Floats) -> None:
        """Keep the stack with the least misfit of all that were judged and not wanted."""
        if self.nearest is None or self.judge.misfit(forces) < self.nearest.misfit:
            self.nearest = self.candidate(made, forces)

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
