"""A family, or a single stack, and what is known and thought of the forces of its members."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model.physics import BandPhysics
from optimiser.search.bounds.relaxation import softest, stiffest
from optimiser.search.kernel.weight import NEGLIGIBLE, weight_of
from optimiser.search.space.family import Family

Floats = NDArray[np.float64]

SOFT: Final = 0
STIFF: Final = 1
"""The two ends of a family, as rows of what is known of it."""

LEVER, LEAST = 1.5, 0.02
"""An end is thought to have moved by so many times the share that its weight has, and so much more. [-]"""


def weight(plates: PackedStack) -> float:
    """Logarithm of how much plates amount to, roughly: wide and stiff ones more, those held off less."""
    return float(weight_of(np.array(plates.packs)))


@dataclass(slots=True)
class Node:
    """A family, or a single stack, and what is known of its forces.

    Parameters
    ----------
    family : the family; that of a single stack, too.
    bounds : below and above every member's force (2, velocities). [N]
    thought : logarithms of the forces that the softest and the stiffest member are thought to give (2,
        velocities). [-]
    drift : how far that may be off, since the ends have moved after they were asked (2, velocities). [-]
    stood : levels that the soft end does not lie above, and less than zero those that the stiff one does
        not lie below (2, velocities): asked there again it would say the same. [N]
    made : the single stack.
    forces : of it, once it has been judged. [N]
    ripe : whether it is a single stack that only its own forces can judge.
    parent : what is known of the ends of the family that it is a part of.
    corners : plates of the two ends, once they were made.
    weights : of those.
    """

    family: Family
    bounds: Floats
    thought: Floats
    drift: Floats
    stood: Floats
    made: Stack | None = None
    forces: Floats | None = None
    ripe: bool = False
    parent: Parent | None = None
    corners: dict[int, PackedStack | None] = field(default_factory=dict)
    weights: dict[int, float] = field(default_factory=dict)

    @classmethod
    def of_unknown(cls, family: Family, velocities: int) -> Node:
        """A family that nothing is known of."""
        unknown = np.full((2, velocities), np.inf)
        outside = np.array([-unknown[SOFT], unknown[STIFF]])
        return cls(family, outside, outside, unknown, unknown.copy())

    def part(self, family: Family) -> Node:
        """A part of this family."""
        unknown = np.full(self.drift.shape, np.inf)
        return Node(family, self.bounds, self.thought, unknown, unknown.copy(), parent=Parent.of(self))

    def member(self, family: Family, made: Stack) -> Node:
        """A single stack of this family."""
        unknown = np.full(self.drift.shape, np.inf)
        return Node(family, self.bounds, self.thought, unknown, unknown.copy(), made)

    def plates(self, end: int, physics: BandPhysics) -> PackedStack | None:
        """Plates of an end; None where nothing is sure to lie on the ports."""
        if end not in self.corners:
            if self.made is not None:
                self.corners[SOFT] = self.corners[STIFF] = physics.packed(self.made)
            else:
                self._lay(end)
        return self.corners[end]

    def _lay(self, end: int) -> None:
        """Make the plates of an end, and tell from their weight how far it has moved from the parent's."""
        plates, parent = (softest, stiffest)[end](self.family), self.parent
        before = None if parent is None else parent.corners.get(end)
        self.corners[end] = plates
        if plates is None:
            return
        if parent is None or before is None:
            self.weights[end] = weight(plates)
        elif plates == before:
            self.corners[end], self.weights[end] = before, parent.weights[end]
            self.drift[end], self.stood[end] = parent.drift[end], parent.stood[end]
        else:
            self.weights[end] = weight(plates)
            if parent.span > 0:
                moved = abs(self.weights[end] - parent.weights[end]) / parent.span
                self.drift[end] = parent.drift[end] + parent.width * (LEAST + min(LEVER * moved, 1.0))


@dataclass(frozen=True, slots=True)
class Parent:
    """What was known of a family's ends when it was split.

    Parameters
    ----------
    corners, weights, drift, stood : as of the node.
    width : how far apart the ends are thought to lie (velocities,). [-]
    span : between the weights of the ends, of its own or of a family before it; 0 when nothing is known.
    """

    corners: dict[int, PackedStack | None]
    weights: dict[int, float]
    drift: Floats
    stood: Floats
    width: Floats
    span: float

    @classmethod
    def of(cls, node: Node) -> Parent:
        """A family that is being split."""
        span = 0.0 if node.parent is None else node.parent.span
        if len(node.weights) > 1:
            span = max(node.weights[STIFF] - node.weights[SOFT], NEGLIGIBLE)
        width = node.thought[STIFF] - node.thought[SOFT]
        return cls(node.corners, node.weights, node.drift, node.stood, width, span)
