"""Children of nodes: what a family is parted into, down to single stacks in every order of their packs.

A family of few members is not split, nor are all of a tree that has few: each that can be built is asked by
itself, first all orders of its packs at once, then one by one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model.edits import Keys, stack_of
from optimiser.model.goal import Goal
from optimiser.model.physics import BandPhysics
from optimiser.search.bounds.node import SOFT, STIFF, Node, Stage
from optimiser.search.space.family import Family
from optimiser.search.space.members import Arrangement, Members
from optimiser.search.tree.nodes import NodeCount

Floats = NDArray[np.float64]

FEW_MEMBERS = 32
"""A family of no more members than this is not split: each that can be built is asked by itself. [-]"""

FEW_IN_ALL = 1000
"""With no more members in all families of a new tree each that can be built is asked by itself. [-]"""

VERY_FEW, FEW_BUILDABLE = 8, 2
"""Of so many members no more than so many that can be built are asked at once instead of the family. [-]"""


class Children:
    """Makes the nodes of one tree.

    Parameters
    ----------
    goal : with the range of heights.
    physics : makes plates of stacks.
    members : which stacks can be built, and which are nodes already.
    count : of leaves, and of stacks that the model has no answer for.
    """

    def __init__(self, goal: Goal, physics: BandPhysics, members: Members, count: NodeCount) -> None:
        self._goal, self._physics, self.members, self._count = goal, physics, members, count

    def roots(self, families: Sequence[Family]) -> Iterator[Node]:
        """Nodes of families that nothing is known of; where all together have few members, of these."""
        few = sum(one.most_members for one in families) <= FEW_IN_ALL
        for family in filter(self._possible, families):
            if few:
                whole = Node.unknown(family, self._goal.lower.size)
                yield from self._singles(whole, self.members.new(family, most=FEW_IN_ALL) or ())
            else:
                yield from self._nodes(family, None)

    def of_one_set(self, family: Family, logs: Floats | None) -> Iterator[Node]:
        """Leaves of a family of one set of shims, with logarithms of their forces where these are known."""
        whole = Node.unknown(family, self._goal.lower.size)
        if logs is not None:
            whole.estimate, whole.stage = np.array([logs, logs]), Stage.ESTIMATED
        for narrowed, orders in self.members.new(family, most=1) or ():
            yield from self._leaves(whole, narrowed, orders)

    def _possible(self, family: Family) -> bool:
        goal = self._goal
        return family.possible(least_height=goal.least_height, most_height=goal.most_height)

    def of(self, parent: Node) -> Iterator[Node]:
        """Nodes of the parts of a family that may have a member; its members themselves when they are few."""
        if parent.orders:
            yield from self._leaves(parent, parent.family, parent.orders)
        elif parent.family.most_members <= FEW_MEMBERS:
            yield from self._singles(parent, self.members.new(parent.family, most=FEW_MEMBERS) or ())
        else:
            for family in parent.family.split():
                if self._possible(family):
                    yield from self._nodes(family, parent)

    def _nodes(self, family: Family, parent: Node | None) -> Iterator[Node]:
        """One node; or, when very few stacks can be built, one for each that was not come to before."""
        whole = Node.unknown(family, self._goal.lower.size) if parent is None else parent
        new = None
        if family.most_members <= VERY_FEW:
            new = self.members.new(family, most=FEW_BUILDABLE)
        if new is not None:
            yield from self._singles(whole, new)
        else:
            yield whole if parent is None else whole.child(family)

    def _singles(self, whole: Node, arrangements: Sequence[Arrangement]) -> Iterator[Node]:
        """A node for all orders of the same shims in their packs; a leaf where there is but one."""
        for family, orders in arrangements:
            if len(orders) == 1:
                yield from self._leaves(whole, family, orders)
                continue
            packed = self._packed(stack_of(orders[0]))
            if packed is None:
                self._count.unanswered += tuple(map(stack_of, orders[1:]))
                continue
            node = whole.child(family)
            node.orders = orders
            node.guess_between(whole, packed)
            yield node

    def _leaves(self, whole: Node, family: Family, orders: Sequence[Keys]) -> Iterator[Node]:
        """Nodes of stacks of a family; the model has no answer for one that it cannot pack."""
        self._count.leaves += len(orders)
        for keys in orders:
            stack = stack_of(keys)
            packed = self._packed(stack)
            if packed is None:
                continue
            leaf = whole.leaf(family, stack)
            leaf.bounding[SOFT] = leaf.bounding[STIFF] = packed
            if whole.stage is Stage.GUESSED:
                leaf.guess_between(whole, packed)
            yield leaf

    def _packed(self, stack: Stack) -> PackedStack | None:
        """Plates of a stack; None, and a note, where the model has no answer."""
        try:
            return self._physics.packed(stack)
        except ModelError:
            self._count.unanswered += (stack,)
            return None
