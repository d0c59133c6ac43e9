"""Nodes sent from one process to another: patches are named by the branching path that leads to them.

Both processes know the same shapes, and a path leads to the same patch in both. So a message carries bounds
and estimates, and nothing that the receiver can work out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.model.edits import Keys
from optimiser.search.bounds.node import Node, Stage
from optimiser.search.space.family import Family, Parts
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import Patch

Floats = NDArray[np.float64]
Paths = tuple[tuple[tuple[int, ...], int], ...]
"""Branching paths to patches, and how many shims leave each or come into it."""


@dataclass(frozen=True, slots=True)
class NodeMessage:
    """A node without what both sides know.

    Parameters
    ----------
    shape : number of the family's shape.
    outs, ins : paths to its patches.
    figures : bounds, estimate, uncertainty, and thresholds that failed (4, 2, velocities).
    stack, forces, needs_exact, orders, stage, bounded : as of the node.
    """

    shape: int
    outs: Paths
    ins: Paths
    figures: Floats
    stack: Stack | None
    forces: Floats | None
    needs_exact: bool
    orders: tuple[Keys, ...]
    stage: Stage
    bounded: bool


def encode(node: Node, shapes: Sequence[Shape]) -> NodeMessage:
    """The message about a node, to a process that knows the same shapes."""
    family = node.family
    return NodeMessage(
        next(number for number, shape in enumerate(shapes) if shape is family.shape),
        tuple((patch.path, count) for patch, count in family.outs),
        tuple((patch.path, count) for patch, count in family.ins),
        np.array([node.bounds, node.estimate, node.uncertainty, node.failed]),
        node.stack,
        node.forces,
        node.needs_exact,
        node.orders,
        node.stage,
        node.bounded,
    )


def decode(message: NodeMessage, shapes: Sequence[Shape]) -> Node:
    """The node that a message is about."""
    shape = shapes[message.shape]
    family = Family(shape, _parts(shape.leaving, message.outs), _parts(shape.coming, message.ins))
    bounds, estimate, uncertainty, failed = message.figures
    return Node(
        family,
        bounds,
        estimate,
        uncertainty,
        failed,
        message.stack,
        message.forces,
        message.needs_exact,
        message.orders,
        message.stage,
        message.bounded,
    )


def _parts(every: Patch | None, paths: Paths) -> Parts:
    return () if every is None else tuple((every.at(path), count) for path, count in paths)
