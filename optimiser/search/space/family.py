"""A family of stacks: so many shims out of these patches, so many into those.

A family is a node's set of solutions, given by counts instead of a list. Branching parts one of its patches
in two, and every way to share the count between the halves is a child.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations_with_replacement, product
from math import comb, prod

from damping_model.units import MICROMETRE
from optimiser.model.stock import ShimKey
from optimiser.search.kernel.presence import makes_a_stack
from optimiser.search.kernel.tables import MoveTable, move_table
from optimiser.search.space.shape import Shape
from optimiser.search.space.sites import Patch, Site

Parts = tuple[tuple[Patch, int], ...]
"""Patches and how many shims leave them, or come into them; no two overlap."""


@dataclass(frozen=True)
class Family:
    """All stacks of a shape that take so many shims out of each patch and put so many into each.

    Parameters
    ----------
    shape : what is kept.
    outs, ins : shims that leave, besides those that the shape has dropped, and that come.
    """

    shape: Shape
    outs: Parts
    ins: Parts

    @cached_property
    def table(self) -> MoveTable:
        """What leaves and what comes, as arrays for compiled code."""
        patches = (*self.outs, *self.ins)
        return move_table(
            [patch.rows for patch, _ in patches],
            [count for _, count in patches],
            [patch.single for patch, _ in patches],
            outs=len(self.outs),
        )

    @cached_property
    def most_members(self) -> int:
        """No more members than this."""
        return prod(comb(len(patch.sites) + count - 1, count) for patch, count in (*self.outs, *self.ins))

    def possible(self, *, least_height: float, most_height: float) -> bool:
        """Whether a member can keep to a range of heights, cover the ports and rise at every crossover."""
        low = high = self.shape.base_height
        for patch, count in self.outs:
            low -= count * patch.thick
            high -= count * patch.thin
            if count > patch.most:
                return False
        for patch, count in self.ins:
            low += count * patch.thin
            high += count * patch.thick
            if patch.single and count > patch.most:
                return False
        rounding = MICROMETRE / 2
        if low > most_height + rounding or high < least_height - rounding:
            return False
        return self.is_a_stack

    @property
    def is_a_stack(self) -> bool:
        """Whether a member can cover the ports and rise at every crossover."""
        return bool(makes_a_stack(self.shape.table, self.table))

    def split(self) -> Iterator[Family]:
        """Branch: families that part this one where its members differ most."""
        patches = (*self.outs, *self.ins)
        chosen = max(
            (place for place, (patch, _) in enumerate(patches) if not patch.single),
            key=lambda place: (patches[place][0].spread * patches[place][1], -place),
        )
        count, (one, two) = patches[chosen][1], patches[chosen][0].parts
        for some in range(count + 1):
            new = tuple((part, share) for part, share in ((one, some), (two, count - some)) if share)
            changed = (*patches[:chosen], *new, *patches[chosen + 1 :])
            border = len(self.outs) + (len(new) - 1 if chosen < len(self.outs) else 0)
            yield Family(self.shape, changed[:border], changed[border:])

    def members(self) -> Iterator[tuple[ShimKey, ...]]:
        """Every stack in it, as types from the piston outwards, in one order of each pack."""
        for outs, ins in self.moves():
            keys = self.shape.keys(outs, ins)
            if keys is not None:
                yield keys

    def with_moves(self, outs: Sequence[Site], ins: Sequence[Site]) -> Family:
        """The part of it in which just these shims leave and these come."""
        return Family(self.shape, _narrowed(self.outs, outs), _narrowed(self.ins, ins))

    def moves(self) -> Iterator[tuple[tuple[Site, ...], tuple[Site, ...]]]:
        """What leaves and what comes, every way."""
        for outs in _choices(self.outs):
            for ins in _choices(self.ins):
                yield outs, ins


def root_families(shape: Shape, changes: int) -> Iterator[Family]:
    """Families of all stacks of a shape that take just so many changes."""
    for out in range(shape.dropped, changes + 1):
        for put_in in range(changes + 1) if out == changes else (changes,):
            outs = _whole(shape.leaving, out - shape.dropped)
            ins = _whole(shape.coming, put_in)
            if outs is not None and ins is not None:
                yield Family(shape, outs, ins)


def _narrowed(parts: Parts, sites: Sequence[Site]) -> Parts:
    counts: dict[int, tuple[Site, int]] = {}
    for site in sites:
        counts[id(site)] = site, counts.get(id(site), (site, 0))[1] + 1
    found = []
    for patch, _ in parts:
        here = [one for one in patch.sites if id(one) in counts]
        found += [(patch.only(site), counts[id(site)][1]) for site in here]
    return tuple(found)


def _whole(patch: Patch | None, count: int) -> Parts | None:
    if count == 0:
        return ()
    return None if patch is None else ((patch, count),)


def _choices(parts: Parts) -> Iterator[tuple[Site, ...]]:
    ways = [list(combinations_with_replacement(patch.sites, count)) for patch, count in parts]
    for choice in product(*ways):
        yield tuple(site for sites in choice for site in sites)
