"""The damper's physics, which objects to stacks that keep a goal too seldom once a damper is drawn again."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from damping_model.stack.stack import Stack
from optimiser.model.goal import LEAST_FORCE, Goal
from optimiser.model.objection import Objection
from optimiser.model.open_stacks import WholePhysics
from optimiser.model.physics import BandPhysics
from optimiser.spread.drawn_forces import Built
from optimiser.spread.enough_chance import EnoughChance
from optimiser.spread.limits import band_limits


class ConfidentPhysics:
    """What a search asks that looks for stacks with a chance.

    So the chance is a property that the goal asks of a stack, beside keeping its limits in the damper as the
    files have it: what a search proves of fewer changes it proves of stacks with both.

    Parameters
    ----------
    physics : of the damper as the files have it.
    goal : what is asked.
    chances : tells whether a stack has the chance.
    name : of the stack that is open, where that is another one than the drawn damper's own.
    beside : the drawn damper's own stack then.
    """

    def __init__(
        self,
        physics: BandPhysics,
        goal: Goal,
        chances: EnoughChance,
        *,
        name: str = "",
        beside: Stack | None = None,
    ) -> None:
        self.settings, self.setting = physics.settings, physics.setting
        self.excess_tolerance, self.exact_tolerance = physics.excess_tolerance, physics.exact_tolerance
        self.packed, self.forces = physics.packed, physics.forces
        self.coarse_forces, self.excesses = physics.coarse_forces, physics.excesses
        self._physics, self._chances = physics, chances
        self._limits, self._before = band_limits(goal), np.maximum(goal.before, LEAST_FORCE)
        self._known: dict[Built, Objection | None] = {}
        self._name, self._beside = name, beside

    def objection(self, stack: Stack, setting: int) -> Objection | None:
        """What speaks against a stack; its chance only where it meets the goal."""
        built = Built(stack, setting)
        if self._beside is not None:
            built = Built(self._beside, setting, ((self._name, stack),))
        if built not in self._known:
            self._known[built] = self._objection(stack, built)
        return self._known[built]

    def _objection(self, stack: Stack, built: Built) -> Objection | None:
        found = self._physics.objection(stack, built.setting)
        if found is not None:
            return found
        forces = self.forces(self.packed(stack), built.setting)
        changes = np.log(np.maximum(forces, LEAST_FORCE) / self._before)
        if any(one.missed_by(changes) > 0 for one in self._limits) or self._chances.enough(built):
            return None
        return Objection.UNSURE


class ConfidentDamper:
    """A whole damper that objects to stacks that keep a goal too seldom together.

    Parameters
    ----------
    whole : the damper as the files have it.
    goal : what is asked.
    chances : tells whether stacks have the chance.
    names : of the stacks that are open, in order.
    own : the one of them that the drawn damper takes for its own.
    """

    def __init__(
        self, whole: WholePhysics, goal: Goal, chances: EnoughChance, *, names: Sequence[str], own: str
    ) -> None:
        self.forces = whole.forces
        self._whole, self._chances = whole, chances
        self._limits, self._before = band_limits(goal), np.maximum(goal.before, LEAST_FORCE)
        self._names, self._own = tuple(names), own
        self._known: dict[Built, Objection | None] = {}

    def objection(self, stacks: Sequence[Stack], setting: int) -> Objection | None:
        """What speaks against stacks together; their chance only where they meet the goal."""
        named = dict(zip(self._names, stacks, strict=True))
        others = tuple((name, stack) for name, stack in named.items() if name != self._own)
        built = Built(named[self._own], setting, others)
        if built not in self._known:
            found = self._whole.objection(stacks, setting)
            self._known[built] = self._of_chance(stacks, built) if found is None else found
        return self._known[built]

    def _of_chance(self, stacks: Sequence[Stack], built: Built) -> Objection | None:
        forces = self.forces(stacks, built.setting)
        changes = np.log(np.maximum(forces, LEAST_FORCE) / self._before)
        if any(one.missed_by(changes) > 0 for one in self._limits) or self._chances.enough(built):
            return None
        return Objection.UNSURE
