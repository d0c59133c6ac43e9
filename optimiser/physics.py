"""What the search asks of the physics, as a protocol that a test can answer with a toy."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from damping_model.packs import PackedStack
from damping_model.stack import Stack


class BandPhysics(Protocol):
    """Forces of one damper at the goal's velocities, with one of its stacks open to change.

    ``settings`` lists the positions of the adjusters that may be chosen; ``setting`` is the present one.
    ``parts`` names the goal's velocities that are cheapest worked out together, by their places; ``doubt``
    is the share of the force by which :meth:`forces_in` may lie off :meth:`forces` for a stack that gives
    what is wanted.
    """

    settings: tuple[Mapping[str, int], ...]
    setting: int
    parts: tuple[NDArray[np.intp], ...]
    doubt: float

    def packed(self, stack: Stack) -> PackedStack:
        """The plates that a stack amounts to."""
        ...

    def forces(self, packed: PackedStack, setting: int) -> NDArray[np.float64]:
        """Resisting force of a stack that may be built, at each of the goal's velocities. [N]"""
        ...

    def forces_in(self, part: int, packed: PackedStack, setting: int) -> NDArray[np.float64]:
        """Resisting force of any plates at the velocities of one part, fast. [N]

        Falls at no velocity when any plate is made stiffer.
        """
        ...
