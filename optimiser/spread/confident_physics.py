"""The damper's physics, which objects to stacks that keep a goal too seldom once a damper is drawn again."""

from __future__ import annotations

import numpy as np

from damping_model.stack.stack import Stack
from optimiser.model.goal import LEAST_FORCE, Goal
from optimiser.model.objection import Objection
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
    """

    def __init__(self, physics: BandPhysics, goal: Goal, chances: EnoughChance) -> None:
        self.settings, self.setting = physics.settings, physics.setting
        self.excess_tolerance, self.exact_tolerance = physics.excess_tolerance, physics.exact_tolerance
        self.packed, self.forces = physics.packed, physics.forces
        self.coarse_forces, self.excesses = physics.coarse_forces, physics.excesses
        self._physics, self._chances = physics, chances
        self._limits, self._before = band_limits(goal), np.maximum(goal.before, LEAST_FORCE)
        self._known: dict[Built, Objection | None] = {}

    def objection(self, stack: Stack, setting: int) -> Objection | None:
        """What speaks against a stack; its chance only where it meets the goal."""
        built = Built(stack, setting)
        if built not in self._known:
            self._known[built] = self._objection(built)
        return self._known[built]

    def _objection(self, built: Built) -> Objection | None:
        found = self._physics.objection(built.stack, built.setting)
        if found is not None:
            return found
        forces = self.forces(self.packed(built.stack), built.setting)
        changes = np.log(np.maximum(forces, LEAST_FORCE) / self._before)
        if any(one.missed_by(changes) > 0 for one in self._limits) or self._chances.enough(built):
            return None
        return Objection.UNSURE
