"""The surrogate: effects of moves added up, in logarithms of the force, to predict several changes.

It costs no evaluation, so thousands of combinations are ranked by it. What it leaves out, that moves act on
one another, is worked out again around the stacks that come nearest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from optimiser.search.primal.moves import MoveKind, Moves

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

KEPT = 200
"""Ways to go on from a prediction, or from all, that are kept. [-]"""

VARIED = 30
"""Ways to exchange the same shims that are kept. [-]"""

NO_MOVE = -1
"""Stands for no move in a list of them."""


class Distances(Protocol):
    """How far forces lie from a goal: see :class:`optimiser.search.goal_metrics.GoalMetrics`."""

    relative_half_width: Floats

    def off_middle(self, logs: Floats) -> Floats:
        """From the middle of the windows (rows,). [-]"""
        ...

    def misfit(self, forces: Floats) -> float:
        """From their edges; 0 inside. [-]"""
        ...


@dataclass(frozen=True, slots=True)
class Prediction:
    """Moves, and the force that they are predicted to give together.

    Parameters
    ----------
    moves : places in the list of moves, in rising order.
    logs : logarithm of the force. (velocities,)
    """

    moves: tuple[int, ...]
    logs: Floats


class Surrogate:
    """Ranks combinations of moves by how near they come to the middle of a goal's windows.

    Parameters
    ----------
    moves : what may be done.
    metrics : the goal.
    """

    def __init__(self, moves: Moves, metrics: Distances) -> None:
        self._metrics = metrics
        self._moves = moves
        steps = [(*step, NO_MOVE)[:2] for step in moves.steps()]
        self._steps = np.array(steps, dtype=int).reshape(-1, 2)

    def extended(self, predictions: Iterable[Prediction], table: Floats) -> list[Prediction]:
        """Each prediction with one change more, by what each move adds to it; the nearest first."""
        if not len(self._steps):
            return []
        added = _with_no_move(table)[self._steps].sum(axis=1)
        bases = list(predictions)
        misfits = np.array([self._metrics.off_middle(one.logs + added) for one in bases]).ravel()
        found: dict[tuple[int, ...], Prediction] = {}
        for k in np.argsort(misfits, kind="stable").tolist():
            base, step = bases[k // len(self._steps)], k % len(self._steps)
            moves = _joined(base.moves, self._steps[step])
            if moves not in found:
                found[moves] = Prediction(moves, base.logs + added[step])
            if len(found) == KEPT:
                break
        return list(found.values())

    def varied(self, one: Prediction, table: Floats, *, exchanged: int) -> list[Prediction]:
        """So many moves exchanged for others of their kind, left out, or made besides; the nearest first."""
        table = _with_no_move(table)
        places = [(move, self._moves.kinds[move]) for move in one.moves]
        places += [(NO_MOVE, kind) for kind in (MoveKind.OUT, MoveKind.IN, MoveKind.SHIFT)]
        kin = {kind: [*self._moves.of_kind(kind), NO_MOVE] for kind in MoveKind}
        found: dict[tuple[int, ...], Prediction] = {}
        for chosen in combinations(range(len(places)), exchanged):
            rest = [move for place, move in enumerate(one.moves) if place not in chosen]
            choices = [kin[places[place][1]] for place in chosen]
            others = np.stack(np.meshgrid(*choices, indexing="ij"), axis=-1).reshape(-1, exchanged)
            logs = one.logs - table[[places[place][0] for place in chosen]].sum(axis=0)
            logs = logs + table[others].sum(axis=1)
            for k in self._nearest(logs, VARIED):
                moves = _joined(rest, others[k])
                found.setdefault(moves, Prediction(moves, logs[k]))
        return self.in_order(found.values())

    def in_order(self, predictions: Iterable[Prediction]) -> list[Prediction]:
        """Predictions, the nearest first."""
        listed = list(predictions)
        return [listed[k] for k in self._nearest([one.logs for one in listed], len(listed))]

    def _nearest(self, logs: Floats | Sequence[Floats], most: int) -> Integers:
        """The first so many by how far they lie from the middle of the windows, the nearest first."""
        if not len(logs):
            return np.array([], dtype=int)
        misfits = self._metrics.off_middle(np.asarray(logs))
        within = np.arange(len(misfits))
        if most < len(misfits):
            within = np.flatnonzero(misfits <= np.partition(misfits, most)[most])
        return within[np.argsort(misfits[within], kind="stable")][:most]


def _with_no_move(table: Floats) -> Floats:
    """A table with a last row for :data:`NO_MOVE`."""
    return np.vstack([table, np.zeros(table.shape[1])])


def _joined(moves: Sequence[int], more: Integers) -> tuple[int, ...]:
    return tuple(sorted((*moves, *(move for move in more.tolist() if move != NO_MOVE))))
