"""What the search asks of the physics, as a protocol that a test can answer with a toy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model.objection import Objection


class BandPhysics(Protocol):
    """Forces of one damper at the goal's velocities, with one of its stacks open to change.

    ``settings`` lists the positions of the adjusters that may be chosen; ``setting`` is the present one.
    ``excess_tolerance`` is the share of the force by which the signs of :meth:`excesses` may be wrong about
    :meth:`forces`, ``exact_tolerance`` the same of those that are exact.
    """

    settings: tuple[Mapping[str, int], ...]
    setting: int
    excess_tolerance: float
    exact_tolerance: float

    def packed(self, stack: Stack) -> PackedStack:
        """The plates that a stack amounts to."""
        ...

    def forces(self, packed: PackedStack, setting: int) -> NDArray[np.float64]:
        """Damping force of a stack that may be built, at each of the goal's velocities. [N]"""
        ...

    def coarse_forces(self, packed: PackedStack, setting: int) -> NDArray[np.float64]:
        """Damping force of any plates at each of the goal's velocities, fast and coarsely. [N]"""
        ...

    def excesses(
        self,
        packed: PackedStack,
        setting: int,
        *,
        places: Sequence[int],
        forces: Sequence[float],
        exactly: bool,
    ) -> NDArray[np.float64]:
        """Logarithms of the force of any plates over ``forces`` [N] at some of the goal's velocities.

        They fall with no plate made stiffer. A proof rests on their signs alone; their sizes are estimates.
        ``exactly`` asks for the signs that :meth:`forces` has: that costs a few times as much, and far less
        than the forces do.
        """
        ...

    def objection(self, stack: Stack, setting: int) -> Objection | None:
        """What speaks against a stack that may be built, whatever its forces are; None when nothing does.

        Asked only of stacks that would be listed, since it may cost as much as their forces.
        """
        ...
