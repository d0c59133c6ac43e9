"""The one question that the search asks of the physics, as a protocol that a test can answer with a toy."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from damping_model.packs import PackedStack
from damping_model.stack import Stack


class BandPhysics(Protocol):
    """Forces of one damper at fixed velocities, with one of its stacks open to change.

    ``settings`` lists the positions of the adjusters that may be chosen; ``setting`` is the present one.
    """

    settings: tuple[Mapping[str, int], ...]
    setting: int

    def packed(self, stack: Stack) -> PackedStack:
        """The plates that a stack amounts to."""
        ...

    def forces(self, packed: PackedStack, setting: int) -> NDArray[np.float64]:
        """Resisting force at each of the goal's velocities. [N]

        Falls at no velocity when any plate is made stiffer.
        """
        ...
