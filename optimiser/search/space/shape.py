"""A skeleton made ready to search: its slots, what is in them, where shims may leave and come.

A shape fixes the order of diameters, and so every gap that a crossover may open. What is left to decide is
how many shims of each type lie in each slot.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain, product
from math import comb

import numpy as np

from damping_model.stack.packs import PackedStack, PreloadRing
from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.model.edits import stack_of
from optimiser.model.stock import ShimKey
from optimiser.search.kernel.tables import SlotTable, slot_table
from optimiser.search.space.sites import Patch, PlateProperties, Site


@dataclass(frozen=True, slots=True)
class Slot:
    """A place where a pack of one diameter is, or could be.

    Parameters
    ----------
    run : which run of falling diameters it belongs to.
    outer : its diameter. [um]
    kept : old shims that are in it before any is taken out, in the order that they lie in.
    properties : of each of them.
    before, after : preload rings that they centre, on the piston's side and behind.
    rings : those as the model sees them.
    """

    run: int
    outer: int
    kept: tuple[ShimKey, ...]
    properties: tuple[PlateProperties, ...]
    before: tuple[ShimKey, ...] = ()
    after: tuple[ShimKey, ...] = ()
    rings: tuple[PreloadRing, ...] = ()

    @property
    def has_ring(self) -> bool:
        """Whether what is in it centres a ring: then all of it stays, since more height is less preload."""
        return bool(self.before or self.after)


@dataclass(frozen=True, slots=True)
class Shape:
    """Slots from the piston outwards.

    Parameters
    ----------
    slots : places for packs; diameters fall within a run.
    runs : number of runs; a stack of this shape has a crossover between one and the next.
    dropped : shims that have left before the search begins.
    pattern : the stack as it is, for what all stacks share.
    least_face : least diameter that covers the ports. [um]
    clamp_radius : a pack no wider is height and nothing else. [m]
    leaving, coming : every shim that may leave, every shim that may come and where; None for no such shim.
    base_height : of what is kept, with its rings. [m]

    Attributes
    ----------
    filled : places of slots with any shim kept in them.
    table : the slots as arrays for compiled code.
    rings : of the slots that centre any.
    """

    slots: tuple[Slot, ...]
    runs: int
    dropped: int
    pattern: PackedStack
    least_face: int
    clamp_radius: float
    leaving: Patch | None
    coming: Patch | None
    base_height: float
    filled: tuple[int, ...] = field(init=False, compare=False, repr=False)
    table: SlotTable = field(init=False, compare=False, repr=False)
    rings: dict[int, tuple[PreloadRing, ...]] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Work out what its families share."""
        told = {
            "filled": tuple(place for place, slot in enumerate(self.slots) if slot.kept),
            "table": slot_table(
                run=[slot.run for slot in self.slots],
                outer=[slot.outer for slot in self.slots],
                properties=[slot.properties for slot in self.slots],
                runs=self.runs,
                least_face=self.least_face,
                clamp_radius=self.clamp_radius,
            ),
            "rings": {place: slot.rings for place, slot in enumerate(self.slots) if slot.rings},
        }
        for name, value in told.items():
            object.__setattr__(self, name, value)

    @property
    def settled(self) -> bool:
        """Whether every old shim is where it was, so that gaps move by what is put in and out alone."""
        return self.dropped == 0

    def stack(self, outs: Sequence[Site], ins: Sequence[Site]) -> Stack | None:
        """The stack with some shims out and some in; None when a shim is to leave that is not there."""
        keys = self.keys(outs, ins)
        return None if keys is None else stack_of(keys)

    def keys(self, outs: Sequence[Site], ins: Sequence[Site]) -> tuple[ShimKey, ...] | None:
        """Types of that stack, from the piston outwards; each shim that comes lies before thinner ones."""
        packs = self._packs(outs, ins)
        return None if packs is None else self._joined([_first_order(*pack) for pack in packs])

    def orders(self, outs: Sequence[Site], ins: Sequence[Site]) -> Iterator[tuple[ShimKey, ...]]:
        """That stack in every order that the shims that stay leave open: the new ones at any place of a pack.

        Of a pack that only adds height one order is as good as another.
        """
        ways = self._ways(outs, ins)
        if ways is not None:
            yield from map(self._joined, product(*ways))

    def order_at_random(
        self, outs: Sequence[Site], ins: Sequence[Site], random: np.random.Generator
    ) -> tuple[ShimKey, ...] | None:
        """One of these orders, each as likely; None when a shim is to leave that is not there."""
        ways = self._ways(outs, ins)
        if ways is None:
            return None
        return self._joined(one[0] if len(one) == 1 else one[int(random.integers(len(one)))] for one in ways)

    def _ways(self, outs: Sequence[Site], ins: Sequence[Site]) -> list[list[tuple[ShimKey, ...]]] | None:
        """Every order of each pack."""
        packs = self._packs(outs, ins)
        if packs is None:
            return None
        return [
            [_first_order(slot, outs_here, ins_here)]
            if not (outs_here or ins_here) or slot.outer <= 2 * self.clamp_radius / MICROMETRE
            else list(_orders(slot, outs_here, ins_here))
            for slot, outs_here, ins_here in packs
        ]

    def _packs(self, outs: Sequence[Site], ins: Sequence[Site]) -> list[_Moved] | None:
        """The slots with a shim, what leaves and what comes; None when one is to leave that is not there."""
        leave, come = _by_place(outs), _by_place(ins)
        packs = []
        for place in sorted({*come, *self.filled}):
            slot, out, put_in = self.slots[place], leave.get(place, ()), come.get(place, ())
            if any(out.count(key) > slot.kept.count(key) for key in out):
                return None
            packs.append((slot, out, put_in))
        return None if set(leave) - set(self.filled) else packs

    def _joined(self, packs: Iterable[tuple[ShimKey, ...]]) -> tuple[ShimKey, ...]:
        return tuple(chain.from_iterable(packs))

    def ways(self, out: int, put_in: int) -> int:
        """Ways to take so many shims out and put so many in, the dropped ones among those out."""
        left = out - self.dropped
        if left < 0:
            return 0
        choices = 0 if self.coming is None else len(self.coming.sites)
        ins = comb(choices + put_in - 1, put_in) if choices else int(put_in == 0)
        counts = [1] + [0] * left
        for site in () if self.leaving is None else self.leaving.sites:
            counts = [
                sum(counts[total - some] for some in range(min(site.count, total) + 1))
                for total in range(left + 1)
            ]
        return counts[left] * ins


_Moved = tuple[Slot, tuple[ShimKey, ...], tuple[ShimKey, ...]]
"""A slot, what leaves it and what comes."""


def _by_place(sites: Sequence[Site]) -> dict[int, tuple[ShimKey, ...]]:
    found: dict[int, tuple[ShimKey, ...]] = {}
    for site in sites:
        found[site.place] = (*found.get(site.place, ()), site.key)
    return found


def _first_order(slot: Slot, outs: Sequence[ShimKey], ins: Sequence[ShimKey]) -> tuple[ShimKey, ...]:
    """What is in a slot, with its rings, when each new shim lies before the first thinner one."""
    if not (outs or ins):
        return (*slot.before, *slot.kept, *slot.after)
    shims = list(slot.kept)
    for key in outs:
        shims.remove(key)
    for key in sorted(ins, key=lambda one: -one.thickness):
        places = (place for place, other in enumerate(shims) if other.thickness < key.thickness)
        shims.insert(next(places, len(shims)), key)
    return (*slot.before, *shims, *slot.after)


def _orders(slot: Slot, outs: Sequence[ShimKey], ins: Sequence[ShimKey]) -> Iterator[tuple[ShimKey, ...]]:
    """What is in a slot in every order, each once."""
    orders = {slot.kept}
    for key in outs:
        orders = {
            (*one[:at], *one[at + 1 :]) for one in orders for at, other in enumerate(one) if other == key
        }
    for key in ins:
        orders = {(*one[:at], key, *one[at:]) for one in orders for at in range(len(one) + 1)}
    first = _first_order(slot, outs, ins)
    yield first
    yield from sorted(orders - {first})
