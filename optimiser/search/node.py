"""A family, or a single stack, and what is known and thought of the forces of its members."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.packs import PackedStack
from damping_model.stack import Stack
from optimiser.physics import BandPhysics
from optimiser.search.corners import softest, stiffest
from optimiser.search.family import Family

Floats = NDArray[np.float64]

SOFT: Final = 0
STIFF: Final = 1
"""The two ends of a family, as rows of what is known of it."""


@dataclass(slots=True)
class Node:
    """A family, or a single stack, and what is known of its forces.

    Parameters
    ----------
    family : the family; that of a single stack, too.
    bounds : below and above every member's force (2, velocities). [N]
    thought : logarithms of the forces that the softest and the stiffest member are thought to give (2,
        velocities). [-]
    age : how often a family was split since anything was told of its ends (2, velocities). [-]
    stood : levels that the soft end does not lie above, and less than nought those that the stiff one does
        not lie below (2, velocities): asked there again it would say the same. [N]
    made : the single stack.
    forces : of it, once it has been judged. [N]
    ripe : whether it is a single stack that only its own forces can judge.
    corners : plates of the two ends, once they were made.
    """

    family: Family
    bounds: Floats
    thought: Floats
    age: Floats
    stood: Floats
    made: Stack | None = None
    forces: Floats | None = None
    ripe: bool = False
    corners: dict[int, PackedStack | None] = field(default_factory=dict)

    def plates(self, end: int, physics: BandPhysics) -> PackedStack | None:
        """Plates of an end; None where nothing is sure to lie on the ports."""
        if end not in self.corners:
            if self.made is not None:
                self.corners[end] = physics.packed(self.made)
            else:
                self.corners[end] = (softest, stiffest)[end](self.family)
        return self.corners[end]
