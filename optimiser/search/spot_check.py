"""Stacks that were ruled out, drawn at random and judged by the whole model: does a proof hold?

A proof rests on bounds, and bounds on margins that were measured on a few dampers. So in every plan stacks
are drawn from all that was closed: some anywhere, and some where the effects of single shims, added up, say
that the goal is nearest. One that does what is asked shows that the margins are too small for this damper.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np

from damping_model.errors import ModelError
from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Candidate
from optimiser.model.checked import Checked
from optimiser.model.edits import Keys, difference, stack_of
from optimiser.search.evaluator import Accuracy, Floats, Request
from optimiser.search.objections import Objections
from optimiser.search.primal.moves import MoveKind, Moves
from optimiser.search.screen.screen import Predicted
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import Site
from optimiser.search.tree.best_first import BestFirstTree
from optimiser.search.where_missed import where_missed

FOR_PROOF, FOR_LIST = 100, 30
"""Stacks that are drawn anywhere, and as many again where the goal should be nearest: where fewer changes are
ruled out, and where only closer ones with as few changes are. [-]"""

PREDICTED: Final = 6000
"""Combinations among which those that should come nearest are looked for. [-]"""

TRIES: Final = 12
"""Draws for each stack at most, since many cannot be built. [-]"""

CLOSE: Final = 0.02
"""Share of the force within which a stack that misses by the coarse force is judged by the exact one. [-]"""

Combination = tuple[Shape, list[Site], list[Site]]


@dataclass(frozen=True, slots=True)
class Drawn:
    """A stack that was drawn, with its forces.

    Parameters
    ----------
    stack : which.
    forces : resisting, at each velocity of the goal; exact where they are near a window. [N]
    """

    stack: Stack
    forces: Floats


@dataclass(frozen=True, slots=True)
class Proof:
    """What is claimed.

    Parameters
    ----------
    too_few : no stack with at most this many changes meets the goal; 0 when nothing is claimed of changes.
    closest : no stack with as few changes comes closer to the target; None when that is not claimed.
    """

    too_few: int
    closest: Candidate | None


def spot_check(
    proof: Proof,
    trees: Sequence[BestFirstTree],
    *,
    shapes: Callable[[int], Sequence[Shape]],
    predicted: Sequence[Predicted],
    objections: Objections,
    reopened: int,
) -> tuple[Checked, list[Candidate]]:
    """Draw stacks that a proof rules out, and judge them; beside the figures those that break it.

    Parameters
    ----------
    proof : what is claimed.
    trees : what was closed, one for each setting of the adjusters.
    shapes : every shape that a stack with so many changes can have.
    predicted : of each tree what was ruled out by predictions; the nearest of these are judged besides.
    objections : what else may speak against a stack.
    reopened : how often the proof was broken before.
    """
    broken: list[Candidate] = []
    drawn, nearest = 0, math.inf
    numbers = [proof.too_few] if proof.too_few else []
    numbers += [] if proof.closest is None else [len(proof.closest.changes)]
    for tree, unbounded in zip(trees, predicted, strict=True):
        check = SpotCheck(tree)
        for changes in numbers:
            count = FOR_PROOF if changes <= proof.too_few else FOR_LIST
            stacks = check.draw(shapes(changes), changes, count=count)
            if changes == numbers[-1]:
                stacks = list(dict.fromkeys((*stacks, *unbounded.nearest)))
            for one in check.judged(stacks):
                few = difference(tree.data.stack, one.stack).changes <= proof.too_few
                drawn += few
                if few:
                    nearest = min(nearest, where_missed(tree.goal, one.forces).by)
                if tree.metrics.misfit(one.forces) == 0:
                    stack = tree.candidate(one.stack, one.forces)
                    if (few or _closer(stack, proof.closest)) and objections.none_to(stack):
                        broken.append(stack)
    below, above = zip(*(tree.widest_slack for tree in trees), strict=True)
    sets = sum(one.sets for one in predicted)
    return Checked(drawn, nearest if drawn else None, (max(below), max(above)), reopened, sets), broken


def _closer(one: Candidate, closest: Candidate | None) -> bool:
    """Whether a stack comes closer than the closest of as few changes."""
    if closest is None or len(one.changes) != len(closest.changes):
        return False
    return one.target_error < closest.target_error - 10.0**-rank.TIES


class SpotCheck:
    """Draws stacks of one tree.

    Parameters
    ----------
    tree : that was closed.
    """

    def __init__(self, tree: BestFirstTree) -> None:
        self.old, self.evaluator, self.metrics = tree.data.stack, tree.evaluator, tree.metrics
        self.members, self.setting = tree.members, tree.setting
        self._random = np.random.default_rng(0)

    def draw(self, shapes: Sequence[Shape], changes: int, *, count: int) -> list[Stack]:
        """Stacks with at most so many changes; ``shapes`` are all that they can have, the present first."""
        drawn = dict.fromkeys(
            (*self._built(self._anywhere(shapes, changes), count, changes),
             *self._built(self._near(shapes[0], changes), count, changes))
        )  # fmt: skip
        return list(drawn)

    def judged(self, stacks: Iterable[Stack]) -> list[Drawn]:
        """Stacks with their forces; those that the model has no answer for are left out."""
        plates_of: dict[Stack, PackedStack] = {}
        for stack in stacks:
            with suppress(ModelError):  # the search names those that the model has no answer for
                plates_of[stack] = self.evaluator.physics.packed(stack)
        coarse = self.evaluator.coarse_forces(list(plates_of.values()), self.setting)
        near = CLOSE / float(np.min(self.metrics.relative_half_width))
        found: dict[Stack, Floats | None] = {}
        close = []
        for stack, estimate in zip(plates_of, coarse, strict=True):
            found[stack] = estimate
            if estimate is not None and self.metrics.misfit(estimate) <= near:
                close.append(stack)
        exact = self.evaluator.evaluate(
            [Request(plates_of[stack], self.setting, Accuracy.EXACT) for stack in close]
        )
        found.update(zip(close, exact, strict=True))
        return [Drawn(stack, forces) for stack, forces in found.items() if forces is not None]

    def _built(self, drawn: Iterator[Combination], wanted: int, changes: int) -> Iterator[Stack]:
        """Those that can be built with so many changes, each in an order of its packs drawn at random."""
        seen: set[Keys] = set()
        buildable = cache(lambda keys: self.members.buildable(stack_of(keys)))
        for _, (shape, outs, ins) in zip(range(TRIES * wanted), drawn, strict=False):
            if len(seen) == wanted:
                return
            keys = shape.keys(outs, ins)
            if keys is None or not buildable(keys):  # most cannot, whatever the order
                continue
            orders = list(shape.orders(outs, ins))
            keys = orders[int(self._random.integers(len(orders)))]
            stack = stack_of(keys)
            if keys not in seen and 0 < difference(self.old, stack).changes <= changes:
                seen.add(keys)
                yield stack

    def _anywhere(self, shapes: Sequence[Shape], changes: int) -> Iterator[Combination]:
        """Every way to come to a stack is as likely as any other of the same shape and numbers."""
        kinds = [
            (shape, out - shape.dropped, put_in, shape.ways(out, put_in))
            for shape in shapes
            for out in range(shape.dropped, changes + 1)
            for put_in in range(changes + 1)
            if out or put_in
        ]
        weights = np.array([float(ways) for *_, ways in kinds])
        while weights.sum() > 0:
            shape, out, put_in, _ = kinds[int(self._random.choice(len(kinds), p=weights / weights.sum()))]
            leaving = () if shape.leaving is None else shape.leaving.sites
            coming = () if shape.coming is None else shape.coming.sites
            yield shape, self._some(leaving, out), self._some(coming, put_in)

    def _near(self, shape: Shape, changes: int) -> Iterator[Combination]:
        """Those of the present shape whose single effects, added up, come nearest to the goal."""
        moves = Moves(shape, evaluator=self.evaluator, setting=self.setting)
        outs, ins = moves.of_kind(MoveKind.OUT), moves.of_kind(MoveKind.IN)
        if moves.before is None or not outs or not ins:
            return
        # one row more stands for no move at all
        own = np.vstack([moves.own, np.zeros((1, moves.own.shape[1]))])
        rows = np.hstack(
            [self._random.choice([*kind, len(own) - 1], size=(PREDICTED, changes)) for kind in (outs, ins)]
        )
        off = self.metrics.off_middle(moves.before + own[rows].sum(axis=1))
        for row in rows[np.argsort(off, kind="stable")].tolist():
            leave, come = moves.leaving_and_coming([move for move in row if move < len(own) - 1])
            if leave or come:
                yield shape, leave, come

    def _some(self, sites: Sequence[Site], count: int) -> list[Site]:
        return [sites[place] for place in self._random.integers(len(sites), size=count)] if count else []
