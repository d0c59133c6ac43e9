"""Members of families that can be built: each order of each is a leaf once, however many families it is in.

Shelf, height and rules are the constraints that families only meet in part, so they are checked here.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from typing import NamedTuple

from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.model.edits import Keys, keys_of, stack_of
from optimiser.model.goal import Goal
from optimiser.search.hashed import Hashed
from optimiser.search.space.family import Family
from optimiser.search.space.problem_data import ProblemData


class Arrangement(NamedTuple):
    """What can be built of some shims in their packs.

    Parameters
    ----------
    family : of these shims in every order.
    orders : of its packs, those that are nowhere else.
    """

    family: Family
    orders: tuple[Keys, ...]


class Members:
    """Stacks that shelf, height and rules allow.

    Parameters
    ----------
    data : the problem.
    goal : the range of heights.
    """

    def __init__(self, data: ProblemData, goal: Goal) -> None:
        self._data, self._goal = data, goal
        self._hole = round(data.mounting.hole_diameter / MICROMETRE)
        self._known: dict[Hashed, bool] = {}
        self._claimed: set[Hashed] = set()

    def copy(self) -> Members:
        """The same knowledge, for another part of a tree."""
        twin = Members(self._data, self._goal)
        twin._known, twin._claimed = dict(self._known), set(self._claimed)
        return twin

    def new(self, family: Family, *, most: int) -> list[Arrangement] | None:
        """Members that can be built, each with the orders of its packs that no other family has claimed.

        None when more than ``most`` of them can be built, orders not counted.
        """
        moves = []
        for outs, ins in family.moves():
            keys = family.shape.keys(outs, ins)
            # one that rises less often belongs to a shape of fewer runs
            if keys is not None and self._rises(keys) == family.shape.runs - 1 and self.can_be_built(keys):
                moves.append((outs, ins))
                if len(moves) > most:
                    return None
        found = []
        for outs, ins in moves:
            new = {Hashed(keys): keys for keys in family.shape.orders(outs, ins)}
            orders = tuple(keys for name, keys in new.items() if name not in self._claimed)
            if orders:
                self._claimed.update(new)
                found.append(Arrangement(family.with_moves(outs, ins), orders))
        return found

    def _rises(self, keys: Keys) -> int:
        """How often diameters rise from the piston outwards, rings aside."""
        outers = [key.outer for key in keys if key.inner == self._hole]
        return sum(behind > one for one, behind in pairwise(outers))

    def can_be_built(self, keys: Keys) -> bool:
        """Whether a stack can be built; the order of its packs makes no difference to that."""
        name = Hashed(keys)
        if name not in self._known:
            self._known[name] = self.buildable(stack_of(keys))
        return self._known[name]

    def buildable(self, stack: Stack) -> bool:
        """Whether shelf, height and rules allow a stack."""
        rounding = MICROMETRE / 2
        if not self._goal.least_height - rounding <= stack.height <= self._goal.most_height + rounding:
            return False
        used = Counter(keys_of(stack))
        if any(count > self._data.available[key] for key, count in used.items()):
            return False
        return not any(rule.violations(stack, self._data.mounting) for rule in self._data.rules)
