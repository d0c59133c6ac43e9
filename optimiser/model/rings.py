"""Preload rings: which rings a stack has, and the pack that centres each.

A ring lies around the pack that centres it. The two are known by their place in the stack, never by what
they are: a shim like the centring one may lie elsewhere too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from optimiser.model.packs import numbered_packs
from optimiser.model.stock import ShimKey


@dataclass(frozen=True, slots=True)
class CentredPack:
    """Neighbouring shims of one diameter, with the preload rings that lie around them.

    Parameters
    ----------
    place : of the first shim of all, the ring before them if there is one; 0 at the piston.
    before : rings on the piston's side of the pack that it centres.
    keys : the pack's shims, from the piston outwards.
    after : rings behind it that it centres.
    """

    place: int
    before: tuple[ShimKey, ...]
    keys: tuple[ShimKey, ...]
    after: tuple[ShimKey, ...]

    @property
    def all(self) -> tuple[ShimKey, ...]:
        """Rings and shims in their order."""
        return (*self.before, *self.keys, *self.after)

    @property
    def has_ring(self) -> bool:
        """Whether it centres a ring."""
        return bool(self.before or self.after)


def centred_packs(keys: Sequence[ShimKey], *, hole: int) -> tuple[CentredPack, ...]:
    """Packs of a stack from the piston outwards, each with the rings that it centres.

    A ring is centred by the pack behind it where that fits inside, or else by the one before.

    Parameters
    ----------
    keys : the stack, from the piston outwards.
    hole : of the shaft; a shim with a wider one is a ring. [um]
    """
    packs: list[CentredPack] = []
    waiting: tuple[ShimKey, ...] = ()
    for place, pack in numbered_packs(keys):
        if pack[0].inner != hole:
            waiting += pack
        elif waiting and pack[0].outer > waiting[-1].inner and packs:
            packs[-1] = _with_rings_behind(packs[-1], waiting)
            packs.append(CentredPack(place, (), pack, ()))
            waiting = ()
        else:
            packs.append(CentredPack(place - len(waiting), waiting, pack, ()))
            waiting = ()
    if waiting and packs:
        packs[-1] = _with_rings_behind(packs[-1], waiting)
    return tuple(packs)


def ring_packs(keys: Sequence[ShimKey]) -> tuple[CentredPack, ...]:
    """Those packs of a stack that centre a ring; the face shim has the shaft's hole."""
    if len({key.inner for key in keys}) <= 1:
        return ()
    return tuple(pack for pack in centred_packs(keys, hole=keys[0].inner) if pack.has_ring)


def _with_rings_behind(pack: CentredPack, rings: tuple[ShimKey, ...]) -> CentredPack:
    return CentredPack(pack.place, pack.before, pack.keys, pack.after + rings)
