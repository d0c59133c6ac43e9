"""Members of families that can be built: each is looked at once, however many families it belongs to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.model.edits import keys_of, stack_of
from optimiser.model.goal import Goal
from optimiser.search.space.family import Family
from optimiser.search.space.hashed import Hashed
from optimiser.search.space.problem_data import Workshop


class Members:
    """Stacks that shelf, height and rules allow.

    Parameters
    ----------
    shop : the job.
    goal : the range of heights.
    """

    def __init__(self, shop: Workshop, goal: Goal) -> None:
        self._shop, self._goal = shop, goal
        self._looked_at: dict[Hashed, Stack | None] = {}
        self._taken: set[Hashed] = set()

    def copy(self) -> Members:
        """The same knowledge, to go on with apart."""
        twin = Members(self._shop, self._goal)
        twin._looked_at, twin._taken = dict(self._looked_at), set(self._taken)
        return twin

    def new(self, family: Family) -> list[Stack]:
        """Members that can be built and were not taken before."""
        found = {name: made for name, made in self._built(family) if name not in self._taken}
        return list(found.values())

    def take(self, stacks: list[Stack]) -> None:
        """Note that these are taken care of."""
        self._taken.update(Hashed(keys_of(one)) for one in stacks)

    def _built(self, family: Family) -> Iterator[tuple[Hashed, Stack]]:
        for keys in family.members():
            name = Hashed(keys)
            if name not in self._looked_at:
                made = stack_of(keys)
                self._looked_at[name] = made if self.buildable(made) else None
            if (known := self._looked_at[name]) is not None:
                yield name, known

    def buildable(self, stack: Stack) -> bool:
        """Whether shelf, height and rules allow a stack."""
        grain = MICROMETRE / 2
        used = Counter(keys_of(stack))
        if any(count > self._shop.available[key] for key, count in used.items()):
            return False
        if not self._goal.least_height - grain <= stack.height <= self._goal.most_height + grain:
            return False
        return not any(rule.violations(stack, self._shop.mounting) for rule in self._shop.rules)
