"""A change as whole numbers, for methods that know nothing of shims: which leaves, which comes, and where."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from optimiser.model.stock import ShimKey
from tests.benchmarks.rivals.rival_evaluator import RivalEvaluator
from tests.helpers.brute_force import Name

UNBUILDABLE: Final = 100.0
"""Worse than any misfit that was met in these jobs; each further offence adds one. [-]"""


class Encoding:
    """Three whole numbers for each change allowed.

    ``leaves`` is the place of a shim in the old stack counted from 1, or 0 for none; ``comes`` a type in
    order of size, or 0 for none; ``where`` the old shim that it goes in front of, or the end. Any stack within
    the changes allowed has such numbers.
    """

    def __init__(self, evaluator: RivalEvaluator) -> None:
        self._evaluator = evaluator
        self._old = evaluator.old
        question = evaluator.question
        self._types: list[ShimKey] = sorted({*self._old, *question.stock.fitting(inner=self._old[0].inner)})
        self.most = (len(self._old), len(self._types), len(self._old)) * question.most_changes
        self._costs: dict[Name, float] = {}

    def name(self, numbers: Sequence[int]) -> Name:
        """The stack that numbers stand for."""
        triples = [tuple(int(n) for n in numbers[k : k + 3]) for k in range(0, len(numbers), 3)]
        leaving = {leaves - 1 for leaves, _, _ in triples if leaves}
        made: list[ShimKey] = []
        for place in range(len(self._old) + 1):
            made += [self._types[comes - 1] for _, comes, where in triples if comes and where == place]
            if place < len(self._old) and place not in leaving:
                made.append(self._old[place])
        return tuple(made)

    def cost(self, numbers: Sequence[int]) -> float:
        """Least for the stack wanted.

        One that meets the goal costs its changes and its error on target; one that misses it costs one more
        than the changes allowed, and its misfit; one that cannot be built, more than those, and the number of
        reasons. Physics is asked only about stacks that may be built, and about each only once.
        """
        self._evaluator.check_budget()
        name = self.name(numbers)
        if name not in self._costs:
            self._costs[name] = self._cost(name)
        return self._costs[name]

    def _cost(self, name: Name) -> float:
        missed = self._evaluator.question.most_changes + 1
        # the old stack may stay, whatever the goal says of heights
        offences = 0 if name == self._old else self._evaluator.offences(name)
        if offences:
            return missed + UNBUILDABLE + offences
        seen = self._evaluator.evaluate(name)
        if seen is None:
            return missed + UNBUILDABLE
        if seen.met is None:
            return missed + min(seen.misfit, UNBUILDABLE)
        return len(seen.met.changes) + min(seen.met.target_error, 1.0)
