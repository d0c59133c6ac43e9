"""Members of families that can be built: each is a leaf once, however many families it belongs to.

Shelf, height and rules are the constraints that families only meet in part, so they are checked here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.model.edits import keys_of, stack_of
from optimiser.model.goal import Goal
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
        self._known: dict[Hashed, Stack | None] = {}
        self._claimed: set[Hashed] = set()

    def copy(self) -> Members:
        """The same knowledge, for another part of a tree."""
        twin = Members(self._data, self._goal)
        twin._known, twin._claimed = dict(self._known), set(self._claimed)
        return twin

    def new(self, family: Family) -> list[Stack]:
        """Members that can be built and that no other family has claimed."""
        found = {name: stack for name, stack in self._built(family) if name not in self._claimed}
        return list(found.values())

    def claim(self, stacks: list[Stack]) -> None:
        """Note that these are leaves now."""
        self._claimed.update(Hashed(keys_of(one)) for one in stacks)

    def _built(self, family: Family) -> Iterator[tuple[Hashed, Stack]]:
        for keys in family.members():
            name = Hashed(keys)
            if name not in self._known:
                stack = stack_of(keys)
                self._known[name] = stack if self.buildable(stack) else None
            if (known := self._known[name]) is not None:
                yield name, known

    def buildable(self, stack: Stack) -> bool:
        """Whether shelf, height and rules allow a stack."""
        rounding = MICROMETRE / 2
        used = Counter(keys_of(stack))
        if any(count > self._data.available[key] for key, count in used.items()):
            return False
        if not self._goal.least_height - rounding <= stack.height <= self._goal.most_height + rounding:
            return False
        return not any(rule.violations(stack, self._data.mounting) for rule in self._data.rules)
