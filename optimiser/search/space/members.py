"""Members of families that can be built: each order of each is a leaf once, however many families it is in.

Shelf, height and rules are the constraints that families only meet in part, so they are checked here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.model.edits import Keys, keys_of, stack_of
from optimiser.model.goal import Goal
from optimiser.model.rules import BY_DIAMETERS, Rule
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
        self._by_diameters = [rule for rule in data.rules if isinstance(rule, BY_DIAMETERS)]
        self._by_shims = [rule for rule in data.rules if not isinstance(rule, BY_DIAMETERS)]
        self._known: dict[tuple[tuple[int, int], ...], int | None] = {}
        self._claimed: set[Keys] = set()

    def copy(self) -> Members:
        """The same knowledge, for another part of a tree."""
        twin = Members(self._data, self._goal)
        twin._known, twin._claimed = self._known, set(self._claimed)
        return twin

    def new(self, family: Family, *, most: int) -> list[Arrangement] | None:
        """Members that can be built, each with the orders of its packs that no other family has claimed.

        None when more than ``most`` of them can be built, orders not counted.
        """
        moves = []
        for outs, ins in family.moves():
            keys = family.shape.keys(outs, ins)
            # one that rises less often belongs to a shape of fewer runs
            if keys is not None and self._fits(keys) and self._rises(keys) == family.shape.runs - 1:
                moves.append((outs, ins))
                if len(moves) > most:
                    return None
        found = []
        for outs, ins in moves:
            new = dict.fromkeys(family.shape.orders(outs, ins))
            orders = tuple(keys for keys in new if keys not in self._claimed)
            if orders:
                self._claimed.update(new)
                found.append(Arrangement(family.with_moves(outs, ins), orders))
        return found

    def buildable(self, stack: Stack) -> bool:
        """Whether shelf, height and rules allow a stack; the order of its packs makes no difference."""
        keys = keys_of(stack)
        return self._fits(keys) and self._rises(keys) is not None

    def _rises(self, keys: Keys) -> int | None:
        """How often diameters rise from the piston outwards, rings aside; None where they break a rule."""
        sizes = tuple([(key.outer, key.inner) for key in keys])
        if sizes not in self._known:
            outers = [outer for outer, inner in sizes if inner == self._hole]
            broken = self._broken(self._by_diameters, stack_of(keys))
            self._known[sizes] = None if broken else sum(two > one for one, two in pairwise(outers))
        return self._known[sizes]

    def _fits(self, keys: Keys) -> bool:
        """Whether shelf, height and the rules that are not about diameters alone allow a stack."""
        stack, rounding = stack_of(keys), MICROMETRE / 2
        if not self._goal.least_height - rounding <= stack.height <= self._goal.most_height + rounding:
            return False
        if any(count > self._data.available[key] for key, count in Counter(keys).items()):
            return False
        return not self._broken(self._by_shims, stack)

    def _broken(self, rules: Sequence[Rule], stack: Stack) -> bool:
        return any(rule.violations(stack, self._data.mounting) for rule in rules)
