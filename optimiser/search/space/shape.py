"""A skeleton made ready to search: its slots, what is in them, where shims may leave and come.

A shape fixes the order of diameters, and so every gap that a crossover may open. What is left to decide is
how many shims of each type lie in each slot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import comb

from damping_model.stack.packs import PackedStack, PreloadRing
from damping_model.stack.stack import Stack
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
    kept : old shims that are in it before any is taken out, thickest first.
    properties : of each of them.
    before, after : the preload ring that it centres.
    ring : that ring as the model sees it.
    """

    run: int
    outer: int
    kept: tuple[ShimKey, ...]
    properties: tuple[PlateProperties, ...]
    before: tuple[ShimKey, ...] = ()
    after: tuple[ShimKey, ...] = ()
    ring: PreloadRing | None = None


def _thickest_first(key: ShimKey) -> tuple[int, ShimKey]:
    return -key.thickness, key


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
    rings : of the slots that centre one.
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
    rings: dict[int, PreloadRing] = field(init=False, compare=False, repr=False)

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
            "rings": {place: slot.ring for place, slot in enumerate(self.slots) if slot.ring is not None},
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
        """Types of that stack, from the piston outwards, the thickest of a pack first."""
        keys: list[ShimKey] = []
        begun, last = 0, 0
        come_to = {site.place for site in ins}
        for place in sorted(come_to.union(self.filled)):
            slot = self.slots[place]
            shims = list(slot.kept)
            leave = [site.key for site in outs if site.place == place]
            for key in leave:
                if key not in shims:
                    return None
                shims.remove(key)
            if place in come_to:
                come = [site.key for site in ins if site.place == place]
                if not set(come).isdisjoint(leave):
                    return None
                shims = sorted([*shims, *come], key=_thickest_first)
            if shims and slot.outer == last and not slot.before:
                # a run that does not rise goes on with the pack before it
                shims = sorted([*keys[begun:], *shims], key=_thickest_first)
                del keys[begun:]
            keys += slot.before
            if shims:
                begun, last = len(keys), 0 if slot.after else slot.outer
            keys += [*shims, *slot.after]
        return tuple(keys)

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
