"""A node of the tree: a family or a single stack, with the bounds and estimates of its members' forces.

Bounds are proven and prune; estimates only order the work. A child takes over its parent's estimates, and how
far its bounding stacks have moved since says how uncertain those are.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import IntEnum
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.packs import PackedStack
from damping_model.stack.stack import Stack
from optimiser.model.edits import Keys
from optimiser.model.physics import BandPhysics
from optimiser.search.bounds.relaxation import softest, stiffest
from optimiser.search.kernel.weight import NEGLIGIBLE, weight_of
from optimiser.search.space.family import Family

Floats = NDArray[np.float64]

SOFT: Final = 0
STIFF: Final = 1
"""The two sides of a family's relaxation, as rows of what is known of it."""

PER_WEIGHT: Final = 1.5
"""Uncertainty of an estimate per share of its weight by which a bounding stack has moved. [-]"""

LEAST_UNCERTAINTY: Final = 0.02
"""Uncertainty of the estimate for a bounding stack that has moved at all. [-]"""


class Stage(IntEnum):
    """How well the forces of a single stack are known, and so which tests it gets."""

    GUESSED = 0
    """From the families that it is in."""

    ESTIMATED = 1
    """Its own coarse forces: nothing is tested that these do not bear out."""

    NEAR = 2
    """It lies so near to a threshold that only an exact sign can tell."""


@cache
def _unknown(shape: tuple[int, ...]) -> Floats:
    """Of any number of nodes; nothing may write into it."""
    return np.full(shape, np.inf)


def weight(plates: PackedStack) -> float:
    """Logarithm of a coarse measure of plates' stiffness: wide ones count more, those held off less."""
    return float(weight_of(plates.rows))


@dataclass(slots=True)
class Node:
    """A family, or a single stack, and what is known of its forces.

    Parameters
    ----------
    family : the family; that of a single stack, too.
    bounds : below and above every member's force (2, velocities). [N]
    estimate : logarithms of the forces of the softest and the stiffest stack, estimated (2, velocities). [-]
    uncertainty : of the estimate, since bounding stacks have moved after a test (2, velocities). [-]
    failed : thresholds that the softest stack does not exceed, and less than zero those that the stiffest
        does not stay below (2, velocities): tested there again they would fail again. [N]
    stack : of a leaf.
    forces : of a leaf, once it has been evaluated. [N]
    needs_exact : whether it is a leaf that bound tests have left open, so that only its own forces can tell.
    orders : of a family that leaves no more than the orders of packs open, all that are to be looked at.
    stage : of what is known of a single stack, in one order or all of them.
    bounded : whether the bounds of a single stack are those of its own coarse forces.
    slack : by which its bounds are widened below and above, once that was asked for. [-]
    parent : what was known of the family that it is a part of.
    as_parent : what is known of this one, once it has been split.
    bounding : plates of the two bounding stacks, once they were made.
    weights : of those.
    """

    family: Family
    bounds: Floats
    estimate: Floats
    uncertainty: Floats
    failed: Floats
    stack: Stack | None = None
    forces: Floats | None = None
    needs_exact: bool = False
    orders: tuple[Keys, ...] = ()
    stage: Stage = Stage.GUESSED
    bounded: bool = False
    slack: tuple[float, float] | None = None
    parent: ParentState | None = None
    as_parent: ParentState | None = None
    bounding: dict[int, PackedStack | None] = field(default_factory=dict)
    weights: dict[int, float] = field(default_factory=dict)

    @classmethod
    def unknown(cls, family: Family, velocities: int) -> Node:
        """A family that nothing is known of."""
        unknown = np.full((2, velocities), np.inf)
        unbounded = np.array([-unknown[SOFT], unknown[STIFF]])
        return cls(family, unbounded, unbounded, unknown, unknown.copy())

    def child(self, family: Family) -> Node:
        """The node of a part of this family."""
        if self.as_parent is None:
            self.as_parent = ParentState.of(self)
        unknown = _unknown(self.uncertainty.shape)
        return Node(family, self.bounds, self.estimate, unknown.copy(), unknown.copy(), parent=self.as_parent)

    def leaf(self, family: Family, stack: Stack) -> Node:
        """The node of a single stack of this family."""
        unknown = _unknown(self.uncertainty.shape)
        return Node(family, self.bounds, self.estimate, unknown, unknown, stack, stage=self.stage)

    def guess_between(self, whole: Node, plates: PackedStack) -> None:
        """Guess the forces of a single stack by how its weight lies between those of a family's bounds."""
        low, high = (whole.weights.get(side) for side in (SOFT, STIFF))
        if low is None or high is None or not np.isfinite(whole.estimate).all():
            return
        part = min(max((weight(plates) - low) / max(high - low, NEGLIGIBLE), 0.0), 1.0)
        logs = whole.estimate[SOFT] + part * (whole.estimate[STIFF] - whole.estimate[SOFT])
        self.estimate = np.array([logs, logs])

    def shed(self) -> None:
        """Forget what only orders the work and what can be made again: a search keeps what it has pruned."""
        self.bounding.clear()
        self.weights.clear()
        self.parent = self.as_parent = None
        self.uncertainty = self.failed = _unknown(self.uncertainty.shape)

    @property
    def is_single(self) -> bool:
        """Whether all of its members have the same shims in their packs."""
        return bool(self.orders) or self.stack is not None

    def bounding_stack(self, side: int, physics: BandPhysics) -> PackedStack | None:
        """Plates of a bounding stack, of a leaf its own; None where nothing is sure to lie on the ports."""
        if side not in self.bounding:
            if self.stack is not None:
                self.bounding[SOFT] = self.bounding[STIFF] = physics.packed(self.stack)
            else:
                self._relax(side)
        return self.bounding[side]

    def _relax(self, side: int) -> None:
        """Make a bounding stack, and tell from its weight how far it has moved from the parent's."""
        plates, parent = (softest, stiffest)[side](self.family), self.parent
        before = None if parent is None else parent.bounding.get(side)
        self.bounding[side] = plates
        if plates is None:
            return
        if parent is None or before is None:
            self.weights[side] = weight(plates)
        elif plates == before:
            self.bounding[side], self.weights[side] = before, parent.weights[side]
            self.uncertainty[side], self.failed[side] = parent.uncertainty[side], parent.failed[side]
        else:
            self.weights[side] = weight(plates)
            if parent.span > 0:
                moved = abs(self.weights[side] - parent.weights[side]) / parent.span
                share = LEAST_UNCERTAINTY + min(PER_WEIGHT * moved, 1.0)
                self.uncertainty[side] = parent.uncertainty[side] + parent.width * share


@dataclass(frozen=True, slots=True)
class ParentState:
    """What was known of a family when it was split.

    Parameters
    ----------
    bounding, weights, uncertainty, failed : as of the node.
    width : between the estimates for the two bounding stacks (velocities,). [-]
    span : between their weights, of its own or of a family before it; 0 when nothing is known.
    """

    bounding: dict[int, PackedStack | None]
    weights: dict[int, float]
    uncertainty: Floats
    failed: Floats
    width: Floats
    span: float

    @classmethod
    def of(cls, node: Node) -> ParentState:
        """A family that is being split."""
        span = 0.0 if node.parent is None else node.parent.span
        if len(node.weights) > 1:
            span = max(node.weights[STIFF] - node.weights[SOFT], NEGLIGIBLE)
        width = node.estimate[STIFF] - node.estimate[SOFT]
        return cls(node.bounding, node.weights, node.uncertainty, node.failed, width, span)
