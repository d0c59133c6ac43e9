"""Families sent from one process to another: told by the turns that lead to their patches.

Both processes know the same shapes, so what is known of patches need not be sent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.search.bounds.node import Node
from optimiser.search.space.family import Family, Parts
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import Patch

Floats = NDArray[np.float64]
Told = tuple[tuple[tuple[int, ...], int], ...]
"""Turns to a patch, and how many shims leave it or come into it."""


@dataclass(frozen=True, slots=True)
class Parcel:
    """A node without what both sides know.

    Parameters
    ----------
    shape : number of the family's shape.
    outs, ins : its patches.
    figures : bounds, what is thought, drift, and levels stood (4, 2, velocities).
    made, forces, ripe : as of the node.
    """

    shape: int
    outs: Told
    ins: Told
    figures: Floats
    made: Stack | None
    forces: Floats | None
    ripe: bool


def wrapped(node: Node, shapes: Sequence[Shape]) -> Parcel:
    """A node ready to be sent to who knows the same shapes."""
    family = node.family
    return Parcel(
        next(number for number, shape in enumerate(shapes) if shape is family.shape),
        tuple((patch.turns, many) for patch, many in family.outs),
        tuple((patch.turns, many) for patch, many in family.ins),
        np.array([node.bounds, node.thought, node.drift, node.stood]),
        node.made,
        node.forces,
        node.ripe,
    )


def unwrapped(parcel: Parcel, shapes: Sequence[Shape]) -> Node:
    """The node again."""
    shape = shapes[parcel.shape]
    family = Family(shape, _parts(shape.leaving, parcel.outs), _parts(shape.coming, parcel.ins))
    bounds, thought, drift, stood = parcel.figures
    return Node(family, bounds, thought, drift, stood, parcel.made, parcel.forces, parcel.ripe)


def _parts(every: Patch | None, told: Told) -> Parts:
    return () if every is None else tuple((every.at(turns), many) for turns, many in told)
