"""The evaluator: asks the physics about stacks, each request once, on several cores at a time.

The search needs three things of a stack: its exact forces, coarse ones, and the sign of one force against a
threshold. Answers are kept and counted here, so that the count of evaluations is the cost of a search.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from enum import Enum
from hashlib import blake2b
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import ModelError
from damping_model.stack.packs import Pack, PackedStack
from damping_model.stack.stack import Shim, Stack
from optimiser.model.goal import LEAST_FORCE
from optimiser.model.physics import BandPhysics
from optimiser.model.stock import ShimKey
from optimiser.processes import cores_here

Floats = NDArray[np.float64]


class Accuracy(Enum):
    """How exactly the forces at every velocity of the goal are wanted."""

    EXACT = "exact"
    """As a force curve gives them."""

    COARSE = "coarse"
    """Fast, to order the work by."""


class Threshold(NamedTuple):
    """Forces at some of the goal's velocities that a stack may or may not reach.

    Parameters
    ----------
    places : of the velocities.
    forces : resisting, at each of them. [N]
    exactly : whether the signs have to be those of exact forces.
    """

    places: tuple[int, ...]
    forces: tuple[float, ...]
    exactly: bool = False


@dataclass(frozen=True, slots=True)
class Request:
    """What is wanted of a stack at one setting of the adjusters.

    Parameters
    ----------
    packed : the stack's plates.
    setting : of the adjusters.
    wanted : forces, or by how much some of them exceed thresholds.
    """

    packed: PackedStack
    setting: int
    wanted: Accuracy | Threshold

    @property
    def key(self) -> bytes:
        """A digest of what the answer depends on: there are so many that plates themselves would not fit."""
        one = self.packed
        steel = one.poisson_ratio, one.indentation, one.thin
        rest = repr((one.rings, one.face_thickness, steel, self.setting, self.wanted))
        return blake2b(one.rows.tobytes() + rest.encode(), digest_size=16).digest()


class Evaluator:
    """Answers of the physics about stacks, feasible ones and bounding ones, each worked out once.

    Parameters
    ----------
    physics : what is asked.
    cores : how many requests are worked on at a time, as many as there are cores when left out. Answers do
        not depend on it.

    Attributes
    ----------
    evaluations : how often the physics was asked.
    """

    def __init__(self, physics: BandPhysics, *, cores: int | None = None) -> None:
        self.physics = physics
        self.evaluations = 0
        self._known: dict[bytes, Floats | None] = {}
        self._cores = cores_here() if cores is None else cores
        self._pool = ThreadPoolExecutor(self._cores) if self._cores > 1 else None

    def copy_for_worker(self) -> Evaluator:
        """An evaluator with the same answers, for a worker to go on with on one core."""
        twin = Evaluator(self.physics, cores=1)
        twin._known = dict(self._known)
        return twin

    def release_threads(self) -> None:
        """End the threads until more is asked: a process that forks should have none."""
        if self._pool is not None:
            self._pool.shutdown()
            self._pool = ThreadPoolExecutor(self._cores)

    def evaluate(self, requests: Sequence[Request]) -> list[Floats | None]:
        """Answer requests in their order; None where the model finds no equilibrium.

        Forces [N], or for a threshold the logarithm of each of its forces over it.
        """
        keys = [request.key for request in requests]
        new = {k: r for k, r in zip(keys, requests, strict=True) if k not in self._known}
        run = map if self._pool is None else self._pool.map
        for key, answer in zip(new, run(self._evaluate, new.values()), strict=True):
            self._known[key] = answer
            self.evaluations += 1
        return [self._known[key] for key in keys]

    def exact_forces(self, packed: PackedStack, setting: int) -> Floats | None:
        """Damping force at each velocity of the goal; None when the model finds no equilibrium. [N]"""
        return self.evaluate([Request(packed, setting, Accuracy.EXACT)])[0]

    def coarse_forces(self, packed: Sequence[PackedStack], setting: int) -> list[Floats | None]:
        """Damping force of stacks at each velocity of the goal, fast rather than exactly. [N]"""
        return self.evaluate([Request(one, setting, Accuracy.COARSE) for one in packed])

    def coarse_once(self, packed: Sequence[PackedStack], setting: int) -> list[Floats | None]:
        """The same of stacks that are not asked again, so that their answers need not be kept. [N]"""
        run = map if self._pool is None else self._pool.map
        self.evaluations += len(packed)
        return list(run(self._evaluate, (Request(one, setting, Accuracy.COARSE) for one in packed)))

    def plate(self, key: ShimKey, face: Shim) -> Pack:
        """One shim as a plate of its own, behind ``face``: one as small as the clamp cannot lie in front."""
        packs = self.physics.packed(Stack((face, key.shim))).packs
        if len(packs) == 2:
            return packs[1]
        return self.physics.packed(Stack((key.shim,))).packs[0]

    def _evaluate(self, request: Request) -> Floats | None:
        packed, setting, wanted = request.packed, request.setting, request.wanted
        try:
            if wanted is Accuracy.EXACT:
                return np.asarray(self.physics.forces(packed, setting), dtype=float)
            if wanted is Accuracy.COARSE:
                return np.asarray(self.physics.coarse_forces(packed, setting), dtype=float)
            return self.physics.excesses(
                packed, setting, places=wanted.places, forces=wanted.forces, exactly=wanted.exactly
            )
        except ModelError:
            return None


def log_of(forces: Floats) -> Floats:
    """Logarithm of forces, of those near zero as of :data:`optimiser.model.goal.LEAST_FORCE`."""
    return np.asarray(np.log(np.maximum(forces, LEAST_FORCE)))
