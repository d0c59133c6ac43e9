"""Stacks that may well meet a goal, by adding up what single shims do: guesses, each judged by the physics.

A guess proves nothing. It puts a stack that can be built on the bench at once, and tells the proof that
follows how many changes it need not go beyond.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.packs import PackedStack
from damping_model.stack import Stack
from optimiser.search.aim import Judge
from optimiser.search.runs import Runs
from optimiser.search.shape import Shape
from optimiser.search.sites import Site

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

KEPT = 200
"""Sums that the next number of changes starts from. [-]"""

JUDGED = 24
"""Stacks judged for each number of changes before the best of them are varied. [-]"""

ROUNDS = 8
"""Times at most that the best stacks are varied. [-]"""

FAR = 4.0
"""Stacks that miss a window by so many half-widths are not varied: another change is wanted. [-]"""

EXCHANGED = 2
"""Shims of a stack that are exchanged at a time; one fewer when that brings nothing nearer. [-]"""

VARIED = 30
"""Ways to exchange the same shims that are kept. [-]"""

LEAST_FORCE = 1e-9
"""Forces below this are not compared as ratios. [N]"""


@dataclass(frozen=True, slots=True)
class _Sum:
    """Shims that leave and that come, as places in the list of moves, and the force they should give."""

    moves: tuple[int, ...]
    logs: Floats


def _misfit(judged: tuple[float, Stack, _Sum]) -> float:
    return judged[0]


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
        self.shape, self.runs, self.judge = shape, runs, judge
        self.setting, self.buildable = setting, buildable
        leaving = () if shape.leaving is None else shape.leaving.sites
        coming = () if shape.coming is None else shape.coming.sites
        self._sites: list[Site] = []
        self._logs = np.zeros((0, judge.lower.size))
        self._outs = 0
        self._tried: set[tuple[int, ...]] = set()
        sites = [*leaving, *coming]
        before, *after = self._logs_of([((), ()), *self._each_more((), sites, len(leaving))])
        if before is None:
            return
        known = [(site, logs) for site, logs in zip(sites, after, strict=True) if logs is not None]
        self._sites = [site for site, _ in known]
        self._outs = sum(logs is not None for logs in after[: len(leaving)])
        self._logs = np.array([logs - before for _, logs in known]).reshape(-1, before.size)
        self._best = [_Sum((), before)]
        self._anchor: tuple[_Sum, Floats] | None = None

    def with_changes(self, changes: int) -> Iterator[tuple[Stack, Floats]]:
        """Stacks with just so many changes that should meet the goal, nearest first; ask in rising order.

        Yields
        ------
        The stack, and its force by the fast physics. [N]
        """
        if not self._sites:
            return
        sums = self._extended(self._best, self._logs)
        if self._anchor is not None:
            sums = self._in_order([*sums[:KEPT], *self._extended([self._anchor[0]], self._anchor[1])])
        self._best = sums[:KEPT]
        found = sorted(self._judged(sums, changes, JUDGED), key=_misfit)
        exchanged, rounds = EXCHANGED, 0
        while found and 0 < found[0][0] < FAR and exchanged and rounds < ROUNDS:
            nearest, _, best = found[0]
            if self._anchor is None or self._anchor[0] is not best:
                self._anchor = best, self._logs_at(best)
            varied = self._varied([one[2] for one in found[:3]], exchanged)
            found = sorted([*found, *self._judged(varied, changes, JUDGED // 2)], key=_misfit)
            exchanged = EXCHANGED if found[0][0] < nearest else exchanged - 1
            rounds += 1
        for _, stack, one in found[:JUDGED]:
            yield stack, np.exp(one.logs)

    def _logs_at(self, one: _Sum) -> Floats:
        """What each move does to the force once others are made; as on its own where that is not known."""
        more = self._each_more(one.moves, self._sites, self._outs)
        logs = self._logs_of(more)
        return np.array(
            [own if new is None else new - one.logs for own, new in zip(self._logs, logs, strict=True)]
        )

    def _each_more(
        self, moves: tuple[int, ...], sites: Sequence[Site], leaving: int
    ) -> list[tuple[Sequence[Site], Sequence[Site]]]:
        """Some moves with each of some sites besides; the first of them are where shims leave."""
        outs, ins = self._parted(moves)
        return [
            ((*outs, site), ins) if place < leaving else (outs, (*ins, site))
            for place, site in enumerate(sites)
        ]

    def _extended(self, sums: Sequence[_Sum], table: Floats) -> list[_Sum]:
        """One change more: one shim out, one in, or one of each."""
        steps: list[tuple[int, ...]] = [(k,) for k in range(len(self._sites))]
        steps += [(o, i) for o in range(self._outs) for i in range(self._outs, len(self._sites))]
        added = np.array([table[list(step)].sum(axis=0) for step in steps])
        made: dict[tuple[int, ...], _Sum] = {}
        for one in sums:
            logs = one.logs + added
            for k in np.argsort(self._misfits(logs), kind="stable")[:KEPT]:
                moves = tuple(sorted((*one.moves, *steps[k])))
                made.setdefault(moves, _Sum(moves, logs[k]))
        return self._in_order(list(made.values()))

    def _varied(self, sums: Sequence[_Sum], exchanged: int) -> list[_Sum]:
        """So many shims exchanged for others of their kind, or fewer."""
        table = self._logs if self._anchor is None else self._anchor[1]
        every = np.arange(len(self._sites))
        made: dict[tuple[int, ...], _Sum] = {}
        for one in sums:
            for chosen in combinations(range(len(one.moves)), min(exchanged, len(one.moves))):
                rest = [move for place, move in enumerate(one.moves) if place not in chosen]
                kin = [
                    every[: self._outs] if one.moves[place] < self._outs else every[self._outs :]
                    for place in chosen
                ]
                others = np.stack(np.meshgrid(*kin, indexing="ij"), axis=-1).reshape(-1, len(chosen))
                logs = one.logs - table[[one.moves[place] for place in chosen]].sum(axis=0)
                logs = logs + table[others].sum(axis=1)
                for k in np.argsort(self._misfits(logs), kind="stable")[:VARIED]:
                    moves = tuple(sorted((*rest, *others[k].tolist())))
                    made.setdefault(moves, _Sum(moves, logs[k]))
        return self._in_order(list(made.values()))

    def _in_order(self, sums: list[_Sum]) -> list[_Sum]:
        if not sums:
            return []
        order = np.argsort(self._misfits(np.array([one.logs for one in sums])), kind="stable")
        return [sums[k] for k in order]

    def _misfits(self, logs: Floats) -> Floats:
        forces = np.exp(logs)
        outside = np.maximum(self.judge.lower - forces, forces - self.judge.upper) / self.judge.half
        return np.asarray(np.maximum(outside, 0.0).max(axis=1))

    def _judged(self, sums: Sequence[_Sum], changes: int, most: int) -> list[tuple[float, Stack, _Sum]]:
        """The first so many that can be built with just so many changes, by the physics."""
        chosen: list[tuple[_Sum, Stack]] = []
        for one in sums:
            outs = sum(move < self._outs for move in one.moves)
            if len(chosen) == most:
                break
            if one.moves in self._tried or max(outs, len(one.moves) - outs) != changes:
                continue
            self._tried.add(one.moves)
            stack = self.shape.stack(*self._parted(one.moves))
            if stack is not None and self.buildable(stack):
                chosen.append((one, stack))
        forces = self.runs.estimates([self.runs.physics.packed(stack) for _, stack in chosen], self.setting)
        return [
            (self.judge.misfit(f), stack, _Sum(one.moves, np.log(np.maximum(f, LEAST_FORCE))))
            for (one, stack), f in zip(chosen, forces, strict=True)
            if f is not None
        ]

    def _parted(self, moves: Sequence[int]) -> tuple[list[Site], list[Site]]:
        outs = [self._sites[move] for move in moves if move < self._outs]
        return outs, [self._sites[move] for move in moves if move >= self._outs]

    def _logs_of(self, moves: Sequence[tuple[Sequence[Site], Sequence[Site]]]) -> list[Floats | None]:
        """Logarithms of the forces after some moves; None where there is no such stack or no answer."""
        stacks = [self.shape.stack(outs, ins) for outs, ins in moves]
        packed = [None if not stack or not stack.shims else self._packed(stack) for stack in stacks]
        answers = iter(self.runs.estimates([one for one in packed if one is not None], self.setting))
        forces = [None if one is None else next(answers) for one in packed]
        return [None if f is None else np.log(np.maximum(f, LEAST_FORCE)) for f in forces]

    def _packed(self, stack: Stack) -> PackedStack | None:
        try:
            return self.runs.physics.packed(stack)
        except ModelError:
            return None
