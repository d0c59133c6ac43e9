"""Members of several shapes at a time: what their forces depend on, and parts that a process goes through."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from optimiser.search.screen.figures import Crossovers, ShapeFigures
from optimiser.search.screen.member_table import MemberTable
from optimiser.search.space.family import Family
from optimiser.search.space.shape import Shape
from optimiser.search.tree.best_first import BestFirstTree

Floats = NDArray[np.float64]
Wait = Callable[[], None]

Slots = tuple[int, tuple[tuple[int, int, bool], ...]]
"""Runs of a shape, and of each slot its run, its diameter [um] and whether it has a ring. [-]"""

Part = tuple[int, Sequence[Family]]
"""Number of a shape, and families of it."""


class Listing:
    """What the forces of members of several shapes depend on.

    Parameters
    ----------
    tree : of which they are.
    shapes : that they have.

    Attributes
    ----------
    figures, slots : of each of them.
    """

    def __init__(self, tree: BestFirstTree, shapes: tuple[Shape, ...]) -> None:
        self.figures = [ShapeFigures(one, tree.data, tree.goal) for one in shapes]
        self.slots = [slots_of(one) for one in shapes]

    def inputs(self, table: MemberTable) -> Floats:
        """What the force of members depends on, whatever the shape: see :meth:`ShapeFigures.inputs`."""
        found = None
        for number in np.unique(table.shape_of).tolist():
            rows = np.flatnonzero(table.shape_of == number)
            one = self.figures[number].inputs(table.only(rows))
            if found is None:
                found = np.empty((len(table), one.shape[1]))
            found[rows] = one
        return np.empty((0, 0)) if found is None else found

    def described(self, table: MemberTable) -> tuple[Floats, Crossovers]:
        """What the force of members depends on, and their crossovers, in shapes with the same slots."""
        inputs = self.inputs(table)
        return inputs, self.figures[int(table.shape_of[0])].crossovers(inputs)


def slots_of(shape: Shape) -> Slots:
    """What shapes have in common that are gone through together."""
    return shape.runs, tuple((slot.run, slot.outer, slot.has_ring) for slot in shape.slots)


def size_of(families: Sequence[Family]) -> int:
    """No more members than this."""
    return sum(one.most_members for one in families)


def nearest_of(tables: Sequence[tuple[MemberTable, Floats]], count: int) -> tuple[MemberTable, Floats]:
    """Of members that were ruled out so many that miss the goal by least, and by how much."""
    beyond = np.concatenate([share for _, share in tables])
    nearest = np.argsort(beyond, kind="stable")[:count]
    return MemberTable.joined([one for one, _ in tables]).only(nearest).bare, beyond[nearest]


def parts_of(families: Sequence[Sequence[Family]], size: int) -> list[Part]:
    """Families of one shape each, about so many members in each part, the largest first."""
    parts: list[Part] = []
    for number, same in enumerate(families):
        some: list[Family] = []
        for one in same:
            if some and size_of(some) + one.most_members > size:
                parts.append((number, some))
                some = []
            some.append(one)
        parts.append((number, some))
    return sorted(parts, key=lambda part: -size_of(part[1]))
