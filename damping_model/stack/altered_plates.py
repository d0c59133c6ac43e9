"""Plates made from other plates: glued where shims of a pack could part, or stiffer throughout."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

import numpy as np

from damping_model.stack.packs import Pack, PackedStack, joined, rows_of


def glued(packed: PackedStack) -> PackedStack:
    """The plates with neighbours of one radius made one, as if their shims could not part."""
    packs: list[Pack] = []
    first: dict[int, int] = {}
    for _, group in groupby(enumerate(packed.packs), key=lambda item: item[1].outer_radius):
        members = list(group)
        first |= {place: len(packs) for place, _ in members}
        packs.append(joined([pack for _, pack in members]))
    rings = tuple(ring._replace(centring=first[ring.centring]) for ring in packed.rings)
    return replace(packed, rows=rows_of(packs), rings=rings, places=())


def stiffened(packed: PackedStack, *, factor: float) -> PackedStack:
    """The same plates with every stiffness times a factor above 0."""
    stiffer = Pack(outer_radius=1.0, bending=factor, stretching=factor, shear=factor, height=1.0)
    return replace(packed, rows=packed.rows * np.array(stiffer))
