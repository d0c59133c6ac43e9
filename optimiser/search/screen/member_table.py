"""Members of open families as arrays: every set of shims that may leave and come, orders aside."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import combinations_with_replacement
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.search.space.family import Family, Parts
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import Patch, Site

Places = NDArray[np.int16]

NONE: Final = -1
"""Stands for no shim where fewer leave or come than may. [-]"""


@dataclass(frozen=True, slots=True)
class MemberTable:
    """Sets of shims that leave and come, all of one shape.

    Parameters
    ----------
    shape : whose.
    outs, ins : places of sites in the patches of the shape, :data:`NONE` for no shim (members, most shims).
    """

    shape: Shape
    outs: Places
    ins: Places

    @classmethod
    def of(cls, families: Sequence[Family]) -> MemberTable:
        """All members of families of one shape, no two of which have one in common."""
        shape = families[0].shape
        places = {
            id(site): place
            for sites in (sites_of(shape.leaving), sites_of(shape.coming))
            for place, site in enumerate(sites)
        }
        tables = [(_choices(one.outs, places), _choices(one.ins, places)) for one in families]
        most_out = max(out.shape[1] for out, _ in tables)
        most_in = max(put_in.shape[1] for _, put_in in tables)
        return cls(
            shape,
            np.concatenate([_padded(np.repeat(o, len(i), axis=0), most_out) for o, i in tables]),
            np.concatenate([_padded(np.tile(i, (len(o), 1)), most_in) for o, i in tables]),
        )

    def __len__(self) -> int:
        """How many."""
        return len(self.outs)

    def only(self, chosen: NDArray[np.intp] | NDArray[np.bool_]) -> MemberTable:
        """Some of them."""
        return MemberTable(self.shape, self.outs[chosen], self.ins[chosen])

    def sites(self, member: int) -> tuple[tuple[Site, ...], tuple[Site, ...]]:
        """What leaves and what comes."""
        leaving, coming = sites_of(self.shape.leaving), sites_of(self.shape.coming)
        return (
            tuple(leaving[place] for place in self.outs[member].tolist() if place != NONE),
            tuple(coming[place] for place in self.ins[member].tolist() if place != NONE),
        )


def sites_of(patch: Patch | None) -> tuple[Site, ...]:
    """The sites of a patch, none of no patch."""
    return () if patch is None else patch.sites


def _padded(places: Places, most: int) -> Places:
    more = np.full((len(places), most - places.shape[1]), NONE, dtype=np.int16)
    return np.concatenate([places, more], axis=1)


def _choices(parts: Parts, places: Mapping[int, int]) -> Places:
    """Every way to take so many sites of each patch (ways, sites)."""
    ways = [
        np.array(
            list(combinations_with_replacement([places[id(site)] for site in patch.sites], count)),
            dtype=np.int16,
        )
        for patch, count in parts
    ]
    return reduce(_crossed, ways, np.zeros((1, 0), dtype=np.int16))


def _crossed(one: Places, other: Places) -> Places:
    return np.concatenate(
        [np.repeat(one, len(other), axis=0), np.tile(other, (len(one), 1))], axis=1, dtype=np.int16
    )
