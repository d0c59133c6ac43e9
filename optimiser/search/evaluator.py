"""The physics, asked once for each question, on several cores at a time, and counted."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.packs import Pack, PackedStack
from damping_model.stack.stack import Shim, Stack
from optimiser.model import rank
from optimiser.model.physics import BandPhysics
from optimiser.model.stock import ShimKey
from optimiser.processes import cores_here
from optimiser.search.space.hashed import Hashed

Floats = NDArray[np.float64]


class Whole(Enum):
    """Forces at every velocity of the goal."""

    EXACT = "exact"
    """As a force curve gives them."""

    ROUGH = "rough"
    """Fast, to be led by."""


@dataclass(frozen=True, slots=True)
class Level:
    """A force at one of the goal's velocities that plates may or may not reach.

    Parameters
    ----------
    place : of the velocity.
    force : resisting. [N]
    """

    place: int
    force: float


@dataclass(frozen=True, slots=True)
class Question:
    """Something about some plates at one setting of the adjusters.

    Parameters
    ----------
    packed : the plates.
    setting : of the adjusters.
    what : forces, or by how much one of them exceeds a level.
    """

    packed: PackedStack
    setting: int
    what: Whole | Level

    @property
    def name(self) -> Hashed:
        """What the answer depends on."""
        return Hashed((self.packed.packs, self.packed.face_thickness, self.setting, self.what))


class Runs:
    """Answers of the physics about stacks, real ones and ones no shelf could build, each worked out once.

    Parameters
    ----------
    physics : what is asked.
    cores : how many questions are worked on at a time, as many as there are cores when left out. Answers do
        not depend on it.
    """

    def __init__(self, physics: BandPhysics, *, cores: int | None = None) -> None:
        self.physics = physics
        self.count = 0
        self._known: dict[Hashed, Floats | None] = {}
        self._cores = cores_here() if cores is None else cores
        self._pool = ThreadPoolExecutor(self._cores) if self._cores > 1 else None

    def apart(self) -> Runs:
        """The same knowledge, to go on with apart and on one core."""
        twin = Runs(self.physics, cores=1)
        twin._known = dict(self._known)
        return twin

    def rest(self) -> None:
        """Let go of the cores until more is asked."""
        if self._pool is not None:
            self._pool.shutdown()
            self._pool = ThreadPoolExecutor(self._cores)

    def ask(self, questions: Sequence[Question]) -> list[Floats | None]:
        """Answer questions in their order; None where the model finds no equilibrium.

        Forces [N], or for a level the one logarithm of the force over it.
        """
        names = [question.name for question in questions]
        new = {n: q for n, q in zip(names, questions, strict=True) if n not in self._known}
        work = map(self._run, new.values()) if self._pool is None else self._pool.map(self._run, new.values())
        for name, answer in zip(new, work, strict=True):
            self._known[name] = answer
            self.count += 1
        return [self._known[name] for name in names]

    def forces(self, packed: PackedStack, setting: int) -> Floats | None:
        """Resisting force at each velocity of the goal; None when the model finds no equilibrium. [N]"""
        return self.ask([Question(packed, setting, Whole.EXACT)])[0]

    def estimates(self, packed: Sequence[PackedStack], setting: int) -> list[Floats | None]:
        """Resisting force of stacks at each velocity of the goal, fast rather than exactly. [N]"""
        return self.ask([Question(one, setting, Whole.ROUGH) for one in packed])

    def plate(self, key: ShimKey, face: Shim) -> Pack:
        """One shim as a plate of its own, behind ``face``: one as small as the clamp cannot lie in front."""
        packs = self.physics.packed(Stack((face, key.shim))).packs
        if len(packs) == 2:
            return packs[1]
        return self.physics.packed(Stack((key.shim,))).packs[0]

    def _run(self, question: Question) -> Floats | None:
        packed, setting, what = question.packed, question.setting, question.what
        try:
            if what is Whole.EXACT:
                return np.asarray(self.physics.forces(packed, setting), dtype=float)
            if what is Whole.ROUGH:
                return np.asarray(self.physics.coarse_forces(packed, setting), dtype=float)
            return np.array([self.physics.excess(packed, setting, place=what.place, force=what.force)])
        except ModelError:
            return None


def log_of(forces: Floats) -> Floats:
    """Logarithm of forces, of those near nothing as of :data:`optimiser.model.rank.LEAST_FORCE`."""
    return np.asarray(np.log(np.maximum(forces, rank.LEAST_FORCE)))
