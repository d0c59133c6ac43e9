"""Members of open families as arrays: every set of shims that may leave and come, orders aside."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import reduce
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.stack.stack import Stack
from optimiser.search.space.family import Family, Parts
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import Patch, Site

Places = NDArray[np.int16]

AT_ONCE: Final = 65_536
"""Members that are listed at a time, unless more come with the same shims out. [-]"""

NONE: Final = -1
"""Stands for no shim where fewer leave or come than may. [-]"""


@dataclass(frozen=True, slots=True)
class MemberTable:
    """Sets of shims that leave and come.

    Parameters
    ----------
    shapes : that members have.
    shape_of : which of them each has (members,).
    outs, ins : places of sites in the patches of its shape, :data:`NONE` for no shim (members, most shims).
    """

    shapes: tuple[Shape, ...]
    shape_of: Places
    outs: Places
    ins: Places

    @classmethod
    def of(cls, families: Sequence[Family]) -> MemberTable:
        """All members of families of one shape, no two of which have one in common."""
        return cls.joined(list(cls.in_parts(families, number=0, shapes=(families[0].shape,))))

    @classmethod
    def in_parts(
        cls, families: Sequence[Family], *, number: int, shapes: tuple[Shape, ...]
    ) -> Iterator[MemberTable]:
        """The same, some at a time; their shape is that of the ``number`` among others."""
        for outs, ins in cls.ways(families, shapes[number]):
            step = max(AT_ONCE // max(len(ins), 1), 1)
            for first in range(0, len(outs), step):
                some = outs[first : first + step]
                out, put_in = np.divmod(np.arange(len(some) * len(ins)), len(ins))
                yield cls.product(some, ins, out, put_in, number=number, shapes=shapes)

    @staticmethod
    def ways(families: Sequence[Family], shape: Shape) -> Iterator[tuple[Places, Places]]:
        """Ways to take shims out and ways to put others in: each of these with each of those is a member."""
        places = _places(shape)
        for one in families:
            yield _choices(one.outs, places), _choices(one.ins, places)

    @classmethod
    def product(
        cls,
        outs: Places,
        ins: Places,
        out: NDArray[np.intp],
        put_in: NDArray[np.intp],
        *,
        number: int,
        shapes: tuple[Shape, ...],
    ) -> MemberTable:
        """Members of one shape, by the number of the way out and of the way in of each."""
        return cls(shapes, np.full(len(out), number, dtype=np.int16), outs[out], ins[put_in])

    @classmethod
    def drawn(
        cls,
        families: Sequence[Family],
        share: float,
        random: np.random.Generator,
        *,
        number: int,
        shapes: tuple[Shape, ...],
    ) -> MemberTable:
        """About such a share of them, each as likely as any other."""
        places, tables = _places(shapes[number]), []
        for one in families:
            outs, ins = _choices(one.outs, places), _choices(one.ins, places)
            some = random.integers(len(outs) * len(ins), size=random.binomial(len(outs) * len(ins), share))
            which = np.full(len(some), number, dtype=np.int16)
            tables.append(cls(shapes, which, outs[some // len(ins)], ins[some % len(ins)]))
        return cls.joined(tables)

    @classmethod
    def joined(cls, tables: Sequence[MemberTable]) -> MemberTable:
        """Members of several tables of the same shapes, one after another."""
        most_out = max(one.outs.shape[1] for one in tables)
        most_in = max(one.ins.shape[1] for one in tables)
        return cls(
            tables[0].shapes,
            np.concatenate([one.shape_of for one in tables]),
            np.concatenate([_padded(one.outs, most_out) for one in tables]),
            np.concatenate([_padded(one.ins, most_in) for one in tables]),
        )

    @classmethod
    def none(cls, shapes: tuple[Shape, ...]) -> MemberTable:
        """No member."""
        return cls(shapes, np.zeros(0, np.int16), np.zeros((0, 0), np.int16), np.zeros((0, 0), np.int16))

    def __len__(self) -> int:
        """How many."""
        return len(self.outs)

    def only(self, chosen: NDArray[np.intp] | NDArray[np.bool_]) -> MemberTable:
        """Some of them."""
        return MemberTable(self.shapes, self.shape_of[chosen], self.outs[chosen], self.ins[chosen])

    @property
    def bare(self) -> MemberTable:
        """The same without its shapes, for another process that has them."""
        return replace(self, shapes=())

    def shape(self, member: int) -> Shape:
        """The shape of a member."""
        return self.shapes[int(self.shape_of[member])]

    def stacks(self, members: NDArray[np.intp], buildable: Callable[[Stack], bool]) -> Iterator[Stack]:
        """Stacks of some members, of each one that can be built if there is any."""
        for member in members.tolist():
            stack = self.shape(member).stack(*self.sites(member))
            if stack is not None and buildable(stack):
                yield stack

    def sites(self, member: int) -> tuple[tuple[Site, ...], tuple[Site, ...]]:
        """What leaves and what comes."""
        shape = self.shape(member)
        leaving, coming = sites_of(shape.leaving), sites_of(shape.coming)
        return (
            tuple(leaving[place] for place in self.outs[member].tolist() if place != NONE),
            tuple(coming[place] for place in self.ins[member].tolist() if place != NONE),
        )


def sites_of(patch: Patch | None) -> tuple[Site, ...]:
    """The sites of a patch, none of no patch."""
    return () if patch is None else patch.sites


def _places(shape: Shape) -> dict[int, int]:
    """Place of each site in its patch."""
    return {
        id(site): place
        for sites in (sites_of(shape.leaving), sites_of(shape.coming))
        for place, site in enumerate(sites)
    }


def _padded(places: Places, most: int) -> Places:
    more = np.full((len(places), most - places.shape[1]), NONE, dtype=np.int16)
    return np.concatenate([places, more], axis=1)


def _choices(parts: Parts, places: Mapping[int, int]) -> Places:
    """Every way to take so many sites of each patch (ways, sites)."""
    ways = [
        np.array([places[id(site)] for site in patch.sites], dtype=np.int16)[
            _multisets(len(patch.sites), count)
        ]
        for patch, count in parts
    ]
    return reduce(_crossed, ways, np.zeros((1, 0), dtype=np.int16))


def _multisets(size: int, count: int) -> NDArray[np.intp]:
    """Every way to take so many of so many things, one more than once if need be (ways, count)."""
    ways, last = np.zeros((1, 0), np.intp), np.zeros(1, np.intp)
    for _ in range(count):
        follow = size - last  # no thing before the last, so that each way is made once
        before = np.repeat(np.arange(len(ways)), follow)
        last = np.arange(len(before)) - np.repeat(np.cumsum(follow) - size, follow)
        ways = np.concatenate([ways[before], last[:, None]], axis=1)
    return ways


def _crossed(one: Places, other: Places) -> Places:
    return np.concatenate(
        [np.repeat(one, len(other), axis=0), np.tile(other, (len(one), 1))], axis=1, dtype=np.int16
    )
