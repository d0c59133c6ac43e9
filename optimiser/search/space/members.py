"""Members of families that can be built: each order of each is a leaf once, however many families it is in.

Shelf, height and rules are the constraints that families only meet in part, so they are checked here.
"""

from __future__ import annotations

from collections import Counter

from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.model.edits import keys_of, stack_of
from optimiser.model.goal import Goal
from optimiser.model.stock import ShimKey
from optimiser.search.hashed import Hashed
from optimiser.search.space.family import Family
from optimiser.search.space.problem_data import ProblemData


class Members:
    """Stacks that shelf, height and rules allow.

    Parameters
    ----------
    data : the problem.
    goal : the range of heights.
    """

    def __init__(self, data: ProblemData, goal: Goal) -> None:
        self._data, self._goal = data, goal
        self._known: dict[Hashed, bool] = {}
        self._claimed: set[Hashed] = set()

    def copy(self) -> Members:
        """The same knowledge, for another part of a tree."""
        twin = Members(self._data, self._goal)
        twin._known, twin._claimed = dict(self._known), set(self._claimed)
        return twin

    def new(self, family: Family, *, most: int) -> list[Stack] | None:
        """Members that can be built and that no other family has claimed, in every order of their packs.

        None when more than ``most`` of them can be built, orders not counted.
        """
        moves = []
        for outs, ins in family.moves():
            keys = family.shape.keys(outs, ins)
            if keys is not None and self._can_be_built(keys):
                moves.append((outs, ins))
                if len(moves) > most:
                    return None
        orders = (keys for outs, ins in moves for keys in family.shape.orders(outs, ins))
        return [stack_of(keys) for keys in dict.fromkeys(orders) if Hashed(keys) not in self._claimed]

    def claim(self, stacks: list[Stack]) -> None:
        """Note that these are leaves now."""
        self._claimed.update(Hashed(keys_of(one)) for one in stacks)

    def _can_be_built(self, keys: tuple[ShimKey, ...]) -> bool:
        """Whether a stack can be built; the order of its packs makes no difference to that."""
        name = Hashed(keys)
        if name not in self._known:
            self._known[name] = self.buildable(stack_of(keys))
        return self._known[name]

    def buildable(self, stack: Stack) -> bool:
        """Whether shelf, height and rules allow a stack."""
        rounding = MICROMETRE / 2
        used = Counter(keys_of(stack))
        if any(count > self._data.available[key] for key, count in used.items()):
            return False
        if not self._goal.least_height - rounding <= stack.height <= self._goal.most_height + rounding:
            return False
        return not any(rule.violations(stack, self._data.mounting) for rule in self._data.rules)
