"""A skeleton made ready to search: its slots, what is in them, where shims may leave and come.

A shape fixes the order of diameters, and so every gap that a crossover may open. What is left to decide is
how many shims of each type lie in each slot.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain, product
from math import comb

import numpy as np

from damping_model.stack.packs import PackedStack, PreloadRing
from damping_model.stack.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.model.edits import Keys, stack_of
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
    base_height : of what is kept; a ring lies around its pack and adds nothing. [m]

    Attributes
    ----------
    whole : what is in each slot while nothing moves, with its rings.
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
    whole: tuple[Keys, ...] = field(init=False, compare=False, repr=False)
    table: SlotTable = field(init=False, compare=False, repr=False)
    rings: dict[int, tuple[PreloadRing, ...]] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Work out what its families share."""
        told = {
            "whole": tuple((*slot.before, *slot.kept, *slot.after) for slot in self.slots),
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

    def keys(self, outs: Sequence[Site], ins: Sequence[Site]) -> Keys | None:
        """Types of that stack, from the piston outwards; each shim that comes lies before thinner ones."""
        moved = self._moved(outs, ins)
        if moved is None:
            return None
        return self._with({place: _first_order(self.slots[place], *keys) for place, keys in moved.items()})

    def orders(self, outs: Sequence[Site], ins: Sequence[Site]) -> Iterator[Keys]:
        """That stack in every order that the shims that stay leave open: the new ones at any place of a pack.

        Of a pack that only adds height one order is as good as another.
        """
        ways = self._ways(outs, ins)
        if ways is not None:
            for chosen in product(*ways.values()):
                yield self._with(dict(zip(ways, chosen, strict=True)))

    def order_at_random(
        self, outs: Sequence[Site], ins: Sequence[Site], random: np.random.Generator
    ) -> Keys | None:
        """One of these orders, each as likely; None when a shim is to leave that is not there."""
        ways = self._ways(outs, ins)
        if ways is None:
            return None
        return self._with(
            {
                place: one[0] if len(one) == 1 else one[int(random.integers(len(one)))]
                for place, one in ways.items()
            }
        )

    def _ways(self, outs: Sequence[Site], ins: Sequence[Site]) -> dict[int, list[Keys]] | None:
        """Every order of each pack that shims leave or come into, from the piston outwards."""
        moved = self._moved(outs, ins)
        if moved is None:
            return None
        ways = {}
        for place in sorted(moved):
            slot, keys = self.slots[place], moved[place]
            clamped = slot.outer <= 2 * self.clamp_radius / MICROMETRE
            ways[place] = [_first_order(slot, *keys)] if clamped else list(_orders(slot, *keys))
        return ways

    def _moved(self, outs: Sequence[Site], ins: Sequence[Site]) -> dict[int, tuple[Keys, Keys]] | None:
        """What leaves each slot and comes into it, if any; None when one is to leave that is not there."""
        moved: dict[int, tuple[Keys, Keys]] = {}
        for site in outs:
            gone, _ = moved.get(site.place, ((), ()))
            kept = self.slots[site.place].kept
            if gone.count(site.key) == kept.count(site.key):
                return None
            moved[site.place] = (*gone, site.key), ()
        for site in ins:
            gone, come = moved.get(site.place, ((), ()))
            moved[site.place] = gone, (*come, site.key)
        return moved

    def _with(self, contents: Mapping[int, Keys]) -> Keys:
        """The stack with other shims in some slots."""
        packs = list(self.whole)
        for place, keys in contents.items():
            packs[place] = keys
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


def _first_order(slot: Slot, outs: Keys, ins: Keys) -> Keys:
    """What is in a slot when each new shim lies before the first thinner one."""
    shims = list(slot.kept)
    for key in outs:
        shims.remove(key)
    for key in sorted(ins, key=lambda one: -one.thickness):
        places = (place for place, other in enumerate(shims) if other.thickness < key.thickness)
        shims.insert(next(places, len(shims)), key)
    return tuple(shims)


def _orders(slot: Slot, outs: Keys, ins: Keys) -> Iterator[Keys]:
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
