"""The primal heuristic: stacks that may well meet a goal, by a surrogate and by neighbourhoods of the best.

It proves nothing. It gives a feasible stack early, and so an incumbent that lets the tree prune more and a
number of changes that the proof need not go beyond.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.search.evaluator import Evaluator, log_of
from optimiser.search.primal.moves import Moves
from optimiser.search.primal.orders import Ordered, nearer_orders
from optimiser.search.primal.surrogate import Distances, Prediction, Surrogate
from optimiser.search.space.shape import Shape

Floats = NDArray[np.float64]

MOST_EVALUATED = 24
"""Stacks evaluated for each number of changes before the best of them are varied. [-]"""

MOST_ALIKE = 6
"""How many of them may do the same to the crossover. [-]"""

ROUNDS = (0, 2, 2)
"""Times at most that a stack is varied, by number of changes. [-]"""

NEIGHBOURHOODS = ((2, 12), (1, 6))
"""Neighbourhoods: shims that are exchanged at a time, and how many stacks are evaluated for it. [-]"""

MOST_EXACT = 3
"""Stacks evaluated exactly before others are varied. [-]"""

COARSE_MARGIN = 0.02
"""Share of the force that a stack may coarsely miss a window by and still be evaluated exactly. [-]"""

FAR = 4.0
"""Stacks that miss a window by so many half-widths are not varied: another change is wanted. [-]"""


@dataclass(frozen=True, slots=True)
class _Proposal:
    """A stack, the moves that lead to it with its coarse force, and those that touch the crossover."""

    stack: Stack
    prediction: Prediction
    gap: tuple[int, ...]


class PrimalHeuristic:
    """Proposes stacks for one shape.

    Parameters
    ----------
    shape : what is kept; where shims may leave and come.
    evaluator : what asks the physics.
    metrics : figures of the goal.
    setting : of the adjusters.
    buildable : whether shelf, height and rules allow a stack.
    """

    def __init__(
        self,
        shape: Shape,
        *,
        evaluator: Evaluator,
        metrics: Distances,
        setting: int,
        buildable: Callable[[Stack], bool],
    ) -> None:
        self.evaluator, self.metrics, self.setting, self.buildable = evaluator, metrics, setting, buildable
        self._margin = COARSE_MARGIN / float(np.min(metrics.relative_half_width))
        self._moves = Moves(shape, evaluator=evaluator, setting=setting)
        self._surrogate = Surrogate(self._moves, metrics)
        self._best = [] if self._moves.before is None else [Prediction((), self._moves.before)]
        self._centres: list[tuple[Prediction, Floats]] = []
        self._corrections: dict[tuple[int, ...], Floats] = {}
        self._tried: set[tuple[int, ...]] = set()
        self._exact: set[tuple[int, ...]] = set()

    def with_changes(self, changes: int) -> Iterator[tuple[Stack, Floats]]:
        """Stacks with just so many changes that should meet the goal, nearest first; ask in rising order.

        Yields
        ------
        The stack, and its force. [N]
        """
        found = self._evaluated(self._next(), changes, MOST_EVALUATED, alike=MOST_ALIKE)
        exhausted: set[tuple[int, ...]] = set()
        self._centres = []
        for _ in range(ROUNDS[min(changes, len(ROUNDS)) - 1]):
            yield from self._nearest(found)
            near = self._next_centre(found, exhausted)
            if near is None:
                return
            table = self._moves.after(near.prediction.moves, near.prediction.logs)
            self._centres.append((near.prediction, table))
            varied = [
                one
                for exchanged, most in NEIGHBOURHOODS
                for one in self._evaluated(
                    self._surrogate.varied(near.prediction, table, exchanged=exchanged), changes, most
                )
            ]
            if min(map(self._misfit, varied), default=np.inf) >= self._misfit(near):
                exhausted.add(near.gap)
            found += varied
        yield from self._nearest(found)

    def _next(self) -> list[Prediction]:
        """One change more than the last time, from the predictions and from the stacks that were varied."""
        predictions = self._best = self._surrogate.extended(self._best, self._moves.own)
        for one, table in self._centres:
            predictions = [*predictions, *self._surrogate.extended([one], table)]
        return self._surrogate.in_order(predictions)

    def _nearest(self, found: list[_Proposal]) -> Iterator[tuple[Stack, Floats]]:
        """Stacks that may well meet the goal, with their exact force, which corrects the coarse ones."""
        for _ in range(MOST_EXACT):
            new = (one for one in found if one.prediction.moves not in self._exact)
            near = min(new, key=self._misfit, default=None)
            if near is None or self._misfit(near) > self._margin:
                return
            self._exact.add(near.prediction.moves)
            exact = self.evaluator.exact_forces(self.evaluator.physics.packed(near.stack), self.setting)
            if exact is not None:
                self._corrections[near.gap] = log_of(exact) - near.prediction.logs
                yield near.stack, exact
                orders = self._moves.orders(self._moves.sites(near.prediction.moves))
                (other,) = nearer_orders(
                    [Ordered(orders, exact, self.setting)], evaluator=self.evaluator, metrics=self.metrics
                )
                if other is not None:
                    yield other

    def _next_centre(self, found: list[_Proposal], exhausted: set[tuple[int, ...]]) -> _Proposal | None:
        """The nearest whose crossover was not varied without success; first with the crossover as it is."""
        new = [one for one in found if one.gap not in exhausted and self._misfit(one) < FAR]
        if not self._centres:
            new = [one for one in new if not one.gap] or new
        return min(new, key=self._misfit, default=None)

    def _misfit(self, one: _Proposal) -> float:
        """Half-widths by which a stack misses a window at the worst velocity. [-]"""
        return self.metrics.misfit(np.exp(one.prediction.logs + self._corrections.get(one.gap, 0.0)))

    def _evaluated(
        self, predictions: Sequence[Prediction], changes: int, most: int, *, alike: int | None = None
    ) -> list[_Proposal]:
        """The first so many that can be built with just so many changes, evaluated coarsely."""
        chosen: list[tuple[Stack, Prediction, tuple[int, ...]]] = []
        gaps: Counter[tuple[int, ...]] = Counter()
        for one in predictions:
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
        packed = [self.evaluator.physics.packed(stack) for stack, _, _ in chosen]
        return [
            _Proposal(stack, Prediction(one.moves, log_of(forces)), gap)
            for (stack, one, gap), forces in zip(
                chosen, self.evaluator.coarse_forces(packed, self.setting), strict=True
            )
            if forces is not None
        ]
