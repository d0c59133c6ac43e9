"""Moves: changes of one shim or one crossover, each with what it does to the force on its own.

They are the alphabet of the primal heuristic, which adds them up in logarithms of the force. Each costs one
coarse evaluation.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model.edits import stack_of
from optimiser.search.evaluator import Evaluator, log_of
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import Site

Floats = NDArray[np.float64]

MOST_PASSED = 4
"""Shims at most that a move takes past a crossover. [-]"""


class MoveKind(Enum):
    """What a move changes."""

    OUT = "a shim leaves"
    IN = "a shim comes"
    EXCHANGE = "another shim opens the gap"
    SHIFT = "the gap lies elsewhere"


class Moves:
    """Steps from one stack to others, each with what it does to the force.

    The two shims of an exchange are one move, since they do not add up: with the one out alone the gap is
    closed, with both in it is twice as high. A shift moves shims past a crossover, so that it is only the
    crossover that is changed.

    Parameters
    ----------
    shape : what is kept; where shims may leave and come.
    evaluator : what asks the physics.
    setting : of the adjusters.

    Attributes
    ----------
    before : logarithm of the force of the stack as it is; None where there is none. (velocities,)
    own : what each move adds to that on its own. (moves, velocities)
    kinds : of the moves.
    """

    def __init__(self, shape: Shape, *, evaluator: Evaluator, setting: int) -> None:
        self._shape, self._evaluator, self._setting = shape, evaluator, setting
        leaving = () if shape.leaving is None else shape.leaving.sites
        coming = () if shape.coming is None else shape.coming.sites
        self._sites = (*leaving, *coming)
        self._outs = len(leaving)
        outs, ins = range(self._outs), range(self._outs, len(self._sites))
        proposed = [
            *((MoveKind.OUT, (out,)) for out in outs),
            *((MoveKind.IN, (put_in,)) for put_in in ins),
            *(
                (MoveKind.EXCHANGE, (out, put_in))
                for out in outs
                for put_in in ins
                if self._alike(out, put_in)
            ),
            *((MoveKind.SHIFT, sites) for sites in self._shifts()),
        ]
        self.before, *after = self._logs_of([(), *(sites for _, sites in proposed)])
        self._moves: list[tuple[int, ...]] = []
        self.kinds: list[MoveKind] = []
        added: list[Floats] = []
        for (kind, sites), logs in zip(proposed, after, strict=True):
            if self.before is not None and logs is not None:
                self._moves.append(sites)
                self.kinds.append(kind)
                added.append(logs - self.before)
        self.own = np.array(added)

    def _alike(self, out: int, put_in: int) -> bool:
        """Whether two shims open the same gap."""
        ours, theirs = self._sites[out].stage, self._sites[put_in].stage
        return ours[0] == theirs[0] and bool(ours[2] and theirs[2]) and not self._undone(out, put_in)

    def _undone(self, out: int, put_in: int) -> bool:
        """Whether a shim would come where one of its type has left."""
        one, other = self._sites[out], self._sites[put_in]
        return (one.place, one.key) == (other.place, other.key)

    def _shifts(self) -> Iterator[tuple[int, ...]]:
        """Shims nearest to a crossover, so many of them, out of the one run and into the other."""
        coming = {(site.stage[0], site.key): k for k, site in enumerate(self._sites) if k >= self._outs}
        for run in range(self._shape.runs - 1):
            before, after = self._row(run), self._row(run + 1)
            for row, other in ((before[::-1], run + 1), (after, run)):
                sites: tuple[int, ...] = ()
                for out in row[:MOST_PASSED]:
                    comes = coming.get((other, self._sites[out].key))
                    if comes is None:
                        break
                    sites = (*sites, out, comes)
                    yield sites

    def _row(self, run: int) -> list[int]:
        """Shims of a run that may leave, from the piston outwards, without those that open its gap."""
        leaving = enumerate(self._sites[: self._outs])
        own = [(k, site) for k, site in leaving if site.stage[0] == run and not site.stage[2]]
        return [k for k, site in own for _ in range(site.count)]

    def of_kind(self, kind: MoveKind) -> list[int]:
        """Moves of one kind."""
        return [move for move, each in enumerate(self.kinds) if each is kind]

    def steps(self) -> list[tuple[int, ...]]:
        """Moves that make one change: any one, a shim out and another in, another crossover elsewhere."""
        pairs = set(self._moves)
        swaps = [
            (out, put_in)
            for out in self.of_kind(MoveKind.OUT)
            for put_in in self.of_kind(MoveKind.IN)
            if self._moves[out] + self._moves[put_in] not in pairs
            and not self._undone(*self._moves[out], *self._moves[put_in])
        ]
        elsewhere = [(k, s) for k in self.of_kind(MoveKind.EXCHANGE) for s in self.of_kind(MoveKind.SHIFT)]
        return [*((move,) for move in range(len(self._moves))), *swaps, *elsewhere]

    def of_the_crossover(self, moves: Iterable[int]) -> tuple[int, ...]:
        """Those that touch it: what others do with them is far from what they do without."""
        return tuple(move for move in moves if self.kinds[move] in {MoveKind.EXCHANGE, MoveKind.SHIFT})

    def sites(self, moves: Iterable[int]) -> tuple[int, ...]:
        """What some moves come to, in whatever order and however joined: the same for the same stack."""
        return tuple(sorted(site for move in moves for site in self._moves[move]))

    def leaving_and_coming(self, moves: Sequence[int]) -> tuple[list[Site], list[Site]]:
        """Where shims leave, and where others come."""
        return self._parted(self.sites(moves))

    def changes(self, moves: Sequence[int]) -> int:
        """How many shims are changed, as far as the kinds of moves tell."""
        kinds = [self.kinds[move] for move in moves]
        outs, ins, exchanges, shifts = (kinds.count(kind) for kind in MoveKind)
        return max(outs, ins) + max(exchanges, min(shifts, 1))

    def stack(self, sites: Sequence[int]) -> Stack | None:
        """The stack after that; None when a shim is to leave that is not there."""
        return self._shape.stack(*self._parted(sites))

    def orders(self, sites: Sequence[int]) -> list[Stack]:
        """The stack after that in every order that its packs may have, that of :meth:`stack` first."""
        return [stack_of(keys) for keys in self._shape.orders(*self._parted(sites))]

    def _parted(self, sites: Sequence[int]) -> tuple[list[Site], list[Site]]:
        """Where shims leave, and where others come."""
        leave, come = ([self._sites[k] for k in sites if (k < self._outs) is out] for out in (True, False))
        return leave, come

    def after(self, moves: Sequence[int], logs: Floats) -> Floats:
        """What each move adds once some are made. (moves, velocities)

        What another crossover does is taken to be as on its own, and so is what cannot be built.

        Parameters
        ----------
        moves : that are made.
        logs : logarithm of the force of the stack that they come to.
        """
        table = self.own.copy()
        shims = [*self.of_kind(MoveKind.OUT), *self.of_kind(MoveKind.IN)]
        new = self._logs_of([self.sites((*moves, move)) for move in shims])
        for move, one in zip(shims, new, strict=True):
            if one is not None:
                table[move] = one - logs
        return table

    def _logs_of(self, proposed: Sequence[tuple[int, ...]]) -> list[Floats | None]:
        """Logarithms of the forces of some stacks; None where there is no such stack or no answer."""
        packed = [self._packed(self.stack(sites)) for sites in proposed]
        answers = iter(
            self._evaluator.coarse_forces([one for one in packed if one is not None], self._setting)
        )
        forces = [None if one is None else next(answers) for one in packed]
        return [None if f is None else log_of(f) for f in forces]

    def _packed(self, stack: Stack | None) -> PackedStack | None:
        if stack is None or not stack.shims:
            return None
        try:
            return self._evaluator.physics.packed(stack)
        except ModelError:
            return None
