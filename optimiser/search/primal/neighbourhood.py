"""Stacks that may well meet a goal, by adding up what single shims do: guesses, each judged by the physics.

A guess proves nothing. It puts a stack that can be built on the bench at once, and tells the proof that
follows how many changes it need not go beyond.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.search.evaluator import Runs, log_of
from optimiser.search.objective import Judge
from optimiser.search.primal.moves import Moves
from optimiser.search.primal.surrogate import Sum, Sums
from optimiser.search.space.shape import Shape

Floats = NDArray[np.float64]

JUDGED = 24
"""Stacks judged for each number of changes before the best of them are varied. [-]"""

ALIKE = 6
"""How many of them may do the same to the crossover. [-]"""

ROUNDS = (0, 2, 2)
"""Times at most that a stack is varied, by number of changes. [-]"""

VARIED = ((2, 12), (1, 6))
"""Shims of a stack that are exchanged at a time, and how many stacks are judged for it. [-]"""

TOLD = 3
"""Stacks judged by their whole force curve before others are varied. [-]"""

ROUGH = 0.02
"""Share of the force that a stack may miss a window by, roughly, and still be worth that. [-]"""

FAR = 4.0
"""Stacks that miss a window by so many half-widths are not varied: another change is wanted. [-]"""


@dataclass(frozen=True, slots=True)
class _Judged:
    """A stack, what leads to it with its rough force, and which of the moves touch the crossover."""

    stack: Stack
    sum: Sum
    gap: tuple[int, ...]


class Guesses:
    """Stacks by the sum of what their shims do on their own.

    Parameters
    ----------
    shape : what is kept; where shims may leave and come.
    runs : the physics.
    judge : the goal.
    setting : of the adjusters.
    buildable : whether shelf, height and rules allow a stack.
    """

    def __init__(
        self, shape: Shape, *, runs: Runs, judge: Judge, setting: int, buildable: Callable[[Stack], bool]
    ) -> None:
        self.runs, self.judge, self.setting, self.buildable = runs, judge, setting, buildable
        self._room = ROUGH / float(np.min(judge.share))
        self._moves = Moves(shape, runs=runs, setting=setting)
        self._sums = Sums(self._moves, judge)
        self._best = [] if self._moves.before is None else [Sum((), self._moves.before)]
        self._anchors: list[tuple[Sum, Floats]] = []
        self._off: dict[tuple[int, ...], Floats] = {}
        self._tried: set[tuple[int, ...]] = set()
        self._told: set[tuple[int, ...]] = set()

    def with_changes(self, changes: int) -> Iterator[tuple[Stack, Floats]]:
        """Stacks with just so many changes that should meet the goal, nearest first; ask in rising order.

        Yields
        ------
        The stack, and its force. [N]
        """
        found = self._judged(self._next(), changes, JUDGED, alike=ALIKE)
        in_vain: set[tuple[int, ...]] = set()
        self._anchors = []
        for _ in range(ROUNDS[min(changes, len(ROUNDS)) - 1]):
            yield from self._nearest(found)
            near = self._to_vary(found, in_vain)
            if near is None:
                return
            table = self._moves.after(near.sum.moves, near.sum.logs)
            self._anchors.append((near.sum, table))
            varied = [
                one
                for exchanged, most in VARIED
                for one in self._judged(
                    self._sums.varied(near.sum, table, exchanged=exchanged), changes, most
                )
            ]
            if min(map(self._misfit, varied), default=np.inf) >= self._misfit(near):
                in_vain.add(near.gap)
            found += varied
        yield from self._nearest(found)

    def _next(self) -> list[Sum]:
        """One change more than the last time, from the sums and from the stacks that were varied."""
        sums = self._best = self._sums.extended(self._best, self._moves.own)
        for one, table in self._anchors:
            sums = [*sums, *self._sums.extended([one], table)]
        return self._sums.in_order(sums)

    def _nearest(self, found: list[_Judged]) -> Iterator[tuple[Stack, Floats]]:
        """Stacks that may well meet the goal, with their force by the whole curve, which is learnt from."""
        for _ in range(TOLD):
            fresh = (one for one in found if one.sum.moves not in self._told)
            near = min(fresh, key=self._misfit, default=None)
            if near is None or self._misfit(near) > self._room:
                return
            self._told.add(near.sum.moves)
            exact = self.runs.forces(self.runs.physics.packed(near.stack), self.setting)
            if exact is not None:
                self._off[near.gap] = log_of(exact) - near.sum.logs
                yield near.stack, exact

    def _to_vary(self, found: list[_Judged], in_vain: set[tuple[int, ...]]) -> _Judged | None:
        """The nearest whose crossover was not varied in vain; first of all with the crossover as it is."""
        fresh = [one for one in found if one.gap not in in_vain and self._misfit(one) < FAR]
        if not self._anchors:
            fresh = [one for one in fresh if not one.gap] or fresh
        return min(fresh, key=self._misfit, default=None)

    def _misfit(self, one: _Judged) -> float:
        """Half-widths by which a stack misses a window at the worst velocity. [-]"""
        return self.judge.misfit(np.exp(one.sum.logs + self._off.get(one.gap, 0.0)))

    def _judged(
        self, sums: Sequence[Sum], changes: int, most: int, *, alike: int | None = None
    ) -> list[_Judged]:
        """The first so many that can be built with just so many changes, by the physics."""
        chosen: list[tuple[Stack, Sum, tuple[int, ...]]] = []
        gaps: Counter[tuple[int, ...]] = Counter()
        for one in sums:
            if len(chosen) == most:
                break
            sites, gap = self._moves.sites(one.moves), self._moves.of_the_crossover(one.moves)
            if sites in self._tried or gaps[gap] == alike or self._moves.changes(one.moves) != changes:
                continue
            self._tried.add(sites)
            stack = self._moves.stack(sites)
            if stack is not None and self.buildable(stack):
                chosen.append((stack, one, gap))
                gaps[gap] += 1
        packed = [self.runs.physics.packed(stack) for stack, _, _ in chosen]
        return [
            _Judged(stack, Sum(one.moves, log_of(forces)), gap)
            for (stack, one, gap), forces in zip(
                chosen, self.runs.estimates(packed, self.setting), strict=True
            )
            if forces is not None
        ]
