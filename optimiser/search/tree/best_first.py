"""The best-first tree: bound tests prune families, branching splits them, leaves are evaluated exactly.

Every step takes the best nodes from the queue, splits them, tests the children and puts back what is left. A
family of few members branches into those of them that can be built; a leaf that no bound test prunes is
evaluated by the whole force curve, and that alone decides whether the objective accepts it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.goal import Goal
from optimiser.model.stock import Stock
from optimiser.search.bounds.bound_test import BoundTest, BoundTests
from optimiser.search.bounds.node import SOFT, STIFF, Node, Stage
from optimiser.search.bounds.order_spread import OrderSpread
from optimiser.search.evaluator import Accuracy, Evaluator, Request, log_of
from optimiser.search.goal_metrics import GoalMetrics
from optimiser.search.objections import Objections
from optimiser.search.objective import Objective
from optimiser.search.space.family import Family
from optimiser.search.space.members import Members
from optimiser.search.space.problem_data import ProblemData
from optimiser.search.space.shape import Shape
from optimiser.search.tree.children import Children
from optimiser.search.tree.nodes import NodeCount, OpenNodes
from optimiser.search.tree.singles import Margins, Singles

Floats = NDArray[np.float64]

BATCH = 32
"""Families that are split, or tested again, before any of them is looked at anew. [-]"""

LEAVES_AT_ONCE = 4
"""Leaves that are evaluated exactly at a time: each may spare others. [-]"""

MOST_FAILED_TESTS = 2
"""Bound tests that may fail before a family is split. [-]"""


class BestFirstTree:
    """Families of stacks at one setting of the adjusters, the best first.

    Parameters
    ----------
    data, evaluator, goal, stock : the problem.
    setting : which setting of the adjusters.
    spread : how far the order inside packs moves the force.
    margins : how far coarse forces of a stack may lie from exact ones at most, from the coarse ones
        (velocities,) [N]; with it single stacks are bounded by these instead of tests. Pays where an
        objective has so many windows that no test rules all of them out.

    Attributes
    ----------
    count : nodes that have been looked at.
    nearest : the stack with the least misfit of all leaves that were evaluated and not accepted.
    objections : what speaks against stacks that would have been accepted, or nearest.
    """

    def __init__(
        self,
        *,
        data: ProblemData,
        evaluator: Evaluator,
        goal: Goal,
        stock: Stock,
        setting: int,
        spread: OrderSpread,
        margins: Margins | None = None,
    ) -> None:
        self._margins = margins
        self.data, self.evaluator, self.goal, self.stock = data, evaluator, goal, stock
        self.setting = setting
        self.metrics = GoalMetrics(goal)
        self.count = NodeCount()
        self._children = Children(goal, evaluator.physics, Members(data, goal), self.count)
        self.nearest: Candidate | None = None
        self.objections = Objections(evaluator.physics)
        self._tests = BoundTests(goal, self.metrics, evaluator.physics, spread)
        self._singles = Singles(evaluator, self._tests, setting=setting)
        self._open = OpenNodes(self.metrics)
        self._pruned: list[Node] = []

    @property
    def members(self) -> Members:
        """Which stacks can be built."""
        return self._children.members

    @property
    def open(self) -> int:
        """Nodes that are still to be looked at."""
        return len(self._open)

    @property
    def shapes(self) -> list[Shape]:
        """Shapes of all families that are open."""
        return self._open.shapes

    def add(self, families: Iterable[Family]) -> None:
        """Root families to look at."""
        self._open.add_new(self._children.roots(list(families)))

    def reopen(self) -> None:
        """Look again, from the bounds that pruned them, at families and stacks that were not accepted."""
        pruned, self._pruned = self._pruned, []
        self.count.ruled_out = 0
        self._open.push(pruned)

    def partition(self, count: int) -> list[BestFirstTree]:
        """All open nodes in so many trees of their own, each of which knows what this one does."""
        parts = []
        for _ in range(count):
            part = BestFirstTree(
                data=self.data,
                evaluator=self.evaluator.copy_for_worker(),
                goal=self.goal,
                stock=self.stock,
                setting=self.setting,
                spread=self.spread,
                margins=self._margins,
            )
            part._children.members = self.members.copy()
            parts.append(part)
        for number, node in enumerate(self.share(every=1)):
            parts[number % count].receive([node])
        return parts

    @property
    def widest_slack(self) -> tuple[float, float]:
        """Most that bounds are widened by, see :meth:`BoundTests.widest_slack`."""
        return self._tests.widest_slack(ringed=any(pack.has_ring for pack in self.data.packs))

    def share(self, *, every: int) -> list[Node]:
        """Give away one in so many of the nodes that are open, the best first."""
        return self._open.share(every=every)

    def receive(self, nodes: Iterable[Node]) -> None:
        """Take nodes in."""
        self._open.push(nodes)

    def leaves(self, family: Family, logs: Floats | None) -> Iterator[Node]:
        """Leaves of a family of one set of shims: see :meth:`Children.of_one_set`."""
        return self._children.of_one_set(family, logs)

    @property
    def spread(self) -> OrderSpread:
        """How far the order inside packs moves the force."""
        return self._tests.spread

    def step(self, objective: Objective) -> None:
        """Split the best families and test the children; evaluate the leaves that no test has pruned."""
        batch = self._open.take_new(BATCH)
        self._estimate(batch)
        leaves: list[Node] = []
        none = self._tests.none_tried
        while len(batch) < BATCH and len(leaves) < LEAVES_AT_ONCE:
            node = self._open.pop()
            if node is None:
                break
            if objective.prunes(*node.bounds):
                self._prune(node)
            elif not node.bounded and self._tests.next(node, objective, none, only_likely=True) is not None:
                batch.append(node)  # thresholds are tighter by now than when it was last looked at
            elif node.needs_exact:
                leaves.append(node)
            elif node.stack is not None:
                batch.append(node)
            else:
                batch += self._children.of(node)
        self._evaluate(leaves, objective)
        self._open.push(self._tested(batch, objective))

    def _estimate(self, nodes: Sequence[Node]) -> None:
        """Estimate the forces of families that nothing is known of by those of their bounding stacks."""
        bounding = [
            (node, side, plates)
            for node in nodes
            for side in (SOFT, STIFF)
            if (plates := node.bounding_stack(side, self.evaluator.physics)) is not None
        ]
        answers = self.evaluator.coarse_forces([plates for _, _, plates in bounding], self.setting)
        for (node, side, _), forces in zip(bounding, answers, strict=True):
            if forces is not None:
                node.estimate = node.estimate.copy()
                node.estimate[side] = log_of(forces)

    def _tested(self, batch: Sequence[Node], objective: Objective) -> Iterator[Node]:
        """The nodes that no bound test prunes."""
        self.count.families += sum(node.stack is None for node in batch)
        waiting = [(node, self._tests.none_tried.copy(), MOST_FAILED_TESTS) for node in batch]
        left: list[Node] = []
        while waiting:
            tests = []
            for node, tried, failures in waiting:
                test = self._next_test(node, objective, tried, failures)
                if test is None:
                    left.append(node)
                else:
                    tried[test.side, list(test.threshold.places)] = True
                    tests.append((node, tried, failures, test))
            outcomes = self.evaluator.evaluate(
                [
                    Request(self._bounding_stack(node, test.side), self.setting, test.threshold)
                    for node, _, _, test in tests
                ]
            )
            waiting = []
            for (node, tried, failures, test), outcome in zip(tests, outcomes, strict=True):
                bounds = self._tests.apply(node, test, outcome)
                if objective.prunes(*node.bounds):
                    self._prune(node)
                else:
                    waiting.append((node, tried, failures if bounds else failures - 1))
        for node in left:
            node.needs_exact = node.stack is not None
        return iter(left)

    def _next_test(
        self, node: Node, objective: Objective, tried: NDArray[np.bool_], failures: int
    ) -> BoundTest | None:
        """The test that is likeliest to prune a node; None when it is to be split or evaluated.

        A family gets few. A single stack gets one by what is known of its family, then those that its own
        coarse forces bear out, and exact ones, which cost far less than exact forces.
        """
        if not node.is_single:
            return self._tests.next(node, objective, tried) if failures > 0 else None
        if self._margins is not None:
            self._singles.bound(node, self._margins)
            return None
        if node.stage is Stage.GUESSED:
            first = failures == MOST_FAILED_TESTS
            if first and (test := self._tests.next(node, objective, tried)) is not None:
                return test
            self._singles.estimate(node)
        if node.stage is Stage.ESTIMATED:
            test = self._tests.next(node, objective, tried)
            if test is not None:
                return test
            node.stage = Stage.NEAR
            tried[:] = False
        return self._tests.next(node, objective, tried)

    def _prune(self, node: Node) -> None:
        """Put a node away that cannot improve the objective; its plates can be made again."""
        node.shed()
        self.count.ruled_out += 1 if node.stack is not None else node.family.most_members
        self._pruned.append(node)

    def _bounding_stack(self, node: Node, side: int) -> PackedStack:
        """Plates of a bounding stack that is known to have some."""
        plates = node.bounding_stack(side, self.evaluator.physics)
        assert plates is not None  # noqa: S101
        return plates

    def _evaluate(self, leaves: Sequence[Node], objective: Objective) -> None:
        """Judge leaves by their exact forces."""
        unknown = [node for node in leaves if node.forces is None]
        requests = [
            Request(self._bounding_stack(node, STIFF), self.setting, Accuracy.EXACT) for node in unknown
        ]
        for node, forces in zip(unknown, self.evaluator.evaluate(requests), strict=True):
            if forces is not None:
                node.forces, node.bounds = forces, np.array([forces, forces])
        for node in leaves:
            if node.stack is None:
                continue
            if node.forces is None:
                self.count.unanswered += (node.stack,)
                continue
            accepted = objective.accepts(node.forces)
            least = np.inf if self.nearest is None else self.nearest.misfit
            if accepted or self.metrics.misfit(node.forces) < least:
                one = self.candidate(node.stack, node.forces)
                if not self.objections.none_to(one, listed=accepted):
                    accepted = False
                elif accepted:
                    objective.record(one)
                else:
                    self.nearest = one
            if not accepted:
                self._prune(node)

    def candidate(self, stack: Stack, forces: Floats) -> Candidate:
        """A stack with every figure that it is ranked by."""
        return rank.candidate(
            old=self.data.stack,
            new=stack,
            setting=self.setting,
            forces=forces,
            goal=self.goal,
            stock=self.stock,
        )
