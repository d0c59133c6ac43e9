"""The open nodes of a tree in the order of work, and the count of those that are done.

Node selection is best first: the family whose middle lies least outside the windows comes next. Nodes that
nothing is known of wait apart, since many of them are estimated at a time.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from damping_model.stack.stack import Stack
from optimiser.search.bounds.node import Node
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.space.shape import Shape


@dataclass(slots=True)
class NodeCount:
    """Nodes that have been looked at.

    Parameters
    ----------
    families, leaves : families that were bounded, and single stacks.
    unanswered : single stacks that the model has no answer for, by name.
    ruled_out : stacks that cannot improve the objective, counted once for each way to come to them.
    """

    families: int = 0
    leaves: int = 0
    unanswered: tuple[Stack, ...] = ()
    ruled_out: int = 0

    def __add__(self, other: NodeCount) -> NodeCount:
        """Both together."""
        return NodeCount(
            self.families + other.families,
            self.leaves + other.leaves,
            self.unanswered + other.unanswered,
            self.ruled_out + other.ruled_out,
        )


class OpenNodes:
    """Nodes that are still to be looked at.

    Parameters
    ----------
    metrics : figures of the goal.
    """

    def __init__(self, metrics: GoalMetrics) -> None:
        self._metrics = metrics
        self._new: list[Node] = []
        self._heap: list[tuple[float, int, Node]] = []
        self._pushed = 0

    def __len__(self) -> int:
        """How many."""
        return len(self._new) + len(self._heap)

    @property
    def shapes(self) -> list[Shape]:
        """Shapes of all of their families."""
        nodes = self._new + [node for *_, node in self._heap]
        return list({id(node.family.shape): node.family.shape for node in nodes}.values())

    def add_new(self, nodes: Iterable[Node]) -> None:
        """Take in nodes that nothing is known of."""
        self._new += nodes

    def take_new(self, most: int) -> list[Node]:
        """Take out nodes that nothing is known of."""
        taken, self._new = self._new[:most], self._new[most:]
        return taken

    def push(self, nodes: Iterable[Node]) -> None:
        """Take in nodes with estimates."""
        for node in nodes:
            self._pushed += 1
            heapq.heappush(self._heap, (self._priority(node), self._pushed, node))

    def pop(self) -> Node | None:
        """Take out the best node with estimates; None when there is none."""
        return heapq.heappop(self._heap)[2] if self._heap else None

    def share(self, *, every: int) -> list[Node]:
        """Take out one in so many of all nodes, the best first."""
        nodes = self._new + [node for *_, node in sorted(self._heap, key=lambda one: one[:2])]
        self._new, self._heap = [], []
        shared = nodes[every - 1 :: every]
        del nodes[every - 1 :: every]
        self.push(nodes)
        return shared

    def _priority(self, node: Node) -> float:
        """Misfit of a leaf, or of the middle of a family's estimates: less comes first."""
        if node.forces is not None:
            return self._metrics.misfit(node.forces)
        if np.count_nonzero(np.isfinite(node.estimate)) < node.estimate.size:
            return float("inf")
        return self._metrics.misfit(np.exp(node.estimate.mean(axis=0)))
