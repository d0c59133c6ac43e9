"""Plates made from other plates: glued where shims of a pack could part, or stiffer throughout."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

from damping_model.stack.packs import Pack, PackedStack, joined


def glued(packed: PackedStack) -> PackedStack:
    """The plates with neighbours of one radius made one, as if their shims could not part."""
    packs: list[Pack] = []
    first: dict[int, int] = {}
    for _, group in groupby(enumerate(packed.packs), key=lambda item: item[1].outer_radius):
        members = list(group)
        first |= {place: len(packs) for place, _ in members}
        packs.append(joined([pack for _, pack in members]))
    rings = tuple(ring._replace(centring=first[ring.centring]) for ring in packed.rings)
    return replace(packed, packs=tuple(packs), rings=rings, places=())


def stiffened(packed: PackedStack, *, factor: float) -> PackedStack:
    """The same plates with every stiffness times a factor above 0."""
    packs = tuple(
        pack._replace(
            bending=factor * pack.bending, stretching=factor * pack.stretching, shear=factor * pack.shear
        )
        for pack in packed.packs
    )
    return replace(packed, packs=packs)
