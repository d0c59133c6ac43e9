"""Members of which the forces were asked: each in an order of its packs that is drawn at random."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.packs import PackedStack
from optimiser.model.edits import Keys, stack_of
from optimiser.search.evaluator import Evaluator, log_of
from optimiser.search.screen.member_table import MemberTable
from optimiser.search.tree.best_first import BestFirstTree

Floats = NDArray[np.float64]
Places = NDArray[np.intp]

AT_ONCE: Final = 64
"""Stacks that are asked before it is seen whether it is time to stop. [-]"""

ACCURACY_FROM: Final = 8
"""Stacks whose coarse forces are held against exact ones. [-]"""

SAFETY: Final = 2.0
"""Coarse forces are taken to be wrong by so many times the most that was seen. [-]"""


class EvaluatedMembers:
    """Coarse forces of some members of a table.

    Parameters
    ----------
    table : of which they are.
    tree : of which they are.
    evaluator : what asks the physics.
    wait : called now and then; may raise to end it.

    Attributes
    ----------
    places : of members that can be built and that the model answers for, in the order that they were asked.
    logs : logarithms of their forces (asked, velocities). [-]
    unanswered : members that the model has no coarse forces of.
    """

    def __init__(
        self, table: MemberTable, tree: BestFirstTree, evaluator: Evaluator, wait: Callable[[], None]
    ) -> None:
        self._table, self._tree, self._evaluator, self._wait = table, tree, evaluator, wait
        self._random = np.random.default_rng(0)
        self._orders: dict[int, Keys] = {}
        self._looked_at = np.zeros(len(table), np.bool_)
        self.places: list[int] = []
        self.logs = np.zeros((0, tree.goal.velocities.size))
        self.unanswered: list[int] = []

    @property
    def looked_at(self) -> NDArray[np.bool_]:
        """Members that were asked, cannot be built, or have no answer."""
        return self._looked_at

    def evaluate(self, places: Iterable[int], *, wanted: int | None = None) -> Places:
        """Ask members in their order until so many have answered; which did."""
        before = len(self.places)
        batch: list[tuple[int, PackedStack]] = []
        for place in places:
            if wanted is not None and len(self.places) + len(batch) - before >= wanted:
                break
            self._looked_at[place] = True
            plates = self._built(place)
            if plates is not None:
                batch.append((place, plates))
            if len(batch) == AT_ONCE:
                self._answer(batch)
                batch = []
        self._answer(batch)
        return np.array(self.places[before:], dtype=np.intp)

    def error(self, nearness: Floats) -> Floats:
        """By how much coarse forces may be wrong at each velocity, measured nearest to the limits.

        Parameters
        ----------
        nearness : of those that were asked: less is nearer (asked,).
        """
        nearest = np.argsort(nearness, kind="stable")[:ACCURACY_FROM]
        errors = [np.zeros(self.logs.shape[1])]
        for row in nearest.tolist():
            exact = self._exact(self.places[row])
            if exact is not None:
                errors.append(np.abs(log_of(exact) - self.logs[row]))
        return np.asarray(SAFETY * np.max(errors, axis=0))

    def _built(self, place: int) -> PackedStack | None:
        """Plates of a member in one of its orders; None when it cannot be built, or not be made plates of."""
        keys = self._table.shape(place).order_at_random(*self._table.sites(place), self._random)
        if keys is None:
            return None
        stack = stack_of(keys)
        if not self._tree.members.buildable(stack):
            return None
        self._orders[place] = keys
        try:
            return self._evaluator.physics.packed(stack)
        except ModelError:
            self.unanswered.append(place)
            return None

    def _exact(self, place: int) -> Floats | None:
        """Exact forces of a member, in the order that it was asked in. [N]"""
        packed = self._evaluator.physics.packed(stack_of(self._orders[place]))
        return self._evaluator.exact_forces(packed, self._tree.setting)

    def _answer(self, batch: list[tuple[int, PackedStack]]) -> None:
        if not batch:
            return
        self._wait()
        forces = self._evaluator.coarse_once([plates for _, plates in batch], self._tree.setting)
        logs = []
        for (place, _), one in zip(batch, forces, strict=True):
            if one is None:
                self.unanswered.append(place)
            else:
                self.places.append(place)
                logs.append(log_of(one))
        if logs:
            self.logs = np.vstack([self.logs, logs])
