"""The physics, asked once for each question, and counted."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.packs import Pack, PackedStack
from damping_model.stack import Shim, Stack
from optimiser.physics import BandPhysics
from optimiser.stock import ShimKey

Floats = NDArray[np.float64]
Question = tuple[tuple[Pack, ...], float, int]


class Runs:
    """Forces of stacks, real ones and ones no shelf could build, each worked out once.

    Parameters
    ----------
    physics : what is asked.
    """

    def __init__(self, physics: BandPhysics) -> None:
        self.physics = physics
        self.count = 0
        self.unanswered = 0
        self._known: dict[Question, Floats | None] = {}

    def forces(self, packed: PackedStack, setting: int) -> Floats | None:
        """Resisting force at each velocity of the goal; None when the model finds no equilibrium. [N]"""
        question = (packed.packs, packed.face_thickness, setting)
        if question not in self._known:
            self.count += 1
            try:
                self._known[question] = np.asarray(self.physics.forces(packed, setting), dtype=float)
            except ModelError:
                self.unanswered += 1
                self._known[question] = None
        return self._known[question]

    def plate(self, key: ShimKey, face: Shim) -> Pack:
        """One shim as a plate of its own, behind ``face``: one as small as the clamp cannot lie in front."""
        packs = self.physics.packed(Stack((face, key.shim))).packs
        if len(packs) == 2:
            return packs[1]
        return self.physics.packed(Stack((key.shim,))).packs[0]
