"""The physics, asked once for each question, on several cores at a time, and counted."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.packs import Pack, PackedStack
from damping_model.stack import Shim, Stack
from optimiser.cores import cores_here
from optimiser.physics import BandPhysics
from optimiser.stock import ShimKey

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Question:
    """Forces of some plates at one setting of the adjusters, in one part of the velocities.

    Parameters
    ----------
    packed : the plates.
    setting : of the adjusters.
    part : which part of the velocities; None for all of them, as exactly as the physics can.
    """

    packed: PackedStack
    setting: int
    part: int | None

    @property
    def name(self) -> tuple[tuple[Pack, ...], float, int, int | None]:
        """What the answer depends on."""
        return self.packed.packs, self.packed.face_thickness, self.setting, self.part


class Runs:
    """Forces of stacks, real ones and ones no shelf could build, each worked out once.

    Parameters
    ----------
    physics : what is asked.
    cores : how many questions are worked on at a time, as many as there are cores when left out. Answers do
        not depend on it.
    """

    def __init__(self, physics: BandPhysics, *, cores: int | None = None) -> None:
        self.physics = physics
        self.count = 0
        self._known: dict[object, Floats | None] = {}
        cores = cores_here() if cores is None else cores
        self._pool = ThreadPoolExecutor(cores) if cores > 1 else None

    def ask(self, questions: Sequence[Question]) -> list[Floats | None]:
        """Answer questions in their order; None where the model finds no equilibrium. [N]"""
        new = {q.name: q for q in questions if q.name not in self._known}
        work = map(self._run, new.values()) if self._pool is None else self._pool.map(self._run, new.values())
        for name, answer in zip(new, work, strict=True):
            self._known[name] = answer
            self.count += 1
        return [self._known[q.name] for q in questions]

    def forces(self, packed: PackedStack, setting: int) -> Floats | None:
        """Resisting force at each velocity of the goal; None when the model finds no equilibrium. [N]"""
        return self.ask([Question(packed, setting, None)])[0]

    def estimates(self, packed: Sequence[PackedStack], setting: int) -> list[Floats | None]:
        """Resisting force of stacks at each velocity of the goal, fast rather than exactly. [N]"""
        parts = self.physics.parts
        answers = self.ask([Question(one, setting, part) for one in packed for part in range(len(parts))])
        found: list[Floats | None] = []
        for start in range(0, len(answers), len(parts)):
            forces = np.empty(sum(part.size for part in parts))
            for part, answer in zip(parts, answers[start : start + len(parts)], strict=True):
                forces[part] = np.nan if answer is None else answer
            found.append(None if np.isnan(forces).any() else forces)
        return found

    def plate(self, key: ShimKey, face: Shim) -> Pack:
        """One shim as a plate of its own, behind ``face``: one as small as the clamp cannot lie in front."""
        packs = self.physics.packed(Stack((face, key.shim))).packs
        if len(packs) == 2:
            return packs[1]
        return self.physics.packed(Stack((key.shim,))).packs[0]

    def _run(self, question: Question) -> Floats | None:
        try:
            if question.part is None:
                forces = self.physics.forces(question.packed, question.setting)
            else:
                forces = self.physics.forces_in(question.part, question.packed, question.setting)
        except ModelError:
            return None
        return np.asarray(forces, dtype=float)
