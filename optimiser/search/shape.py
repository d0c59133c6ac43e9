"""A skeleton made ready to search: its slots, what is in them, where shims may leave and come."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import comb, inf

from damping_model.packs import Pack, PackedStack, PreloadRing
from damping_model.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.edits import stack_of
from optimiser.search.sites import Figures, Patch, Site
from optimiser.stock import ShimKey

Flags = tuple[bool, ...]
"""One for each slot."""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place where a pack of one diameter is, or could be.

    Parameters
    ----------
    run : which run of falling diameters it belongs to.
    outer : its diameter. [um]
    kept : old shims that are in it before any is taken out, thickest first.
    figures : of each of them.
    whole : of all of them together.
    pack : they as one plate; None when there are none.
    before, after : the preload ring that it centres.
    ring : that ring as the model sees it.
    """

    run: int
    outer: int
    kept: tuple[ShimKey, ...]
    figures: tuple[Figures, ...]
    whole: Figures
    pack: Pack | None
    before: tuple[ShimKey, ...] = ()
    after: tuple[ShimKey, ...] = ()
    ring: PreloadRing | None = None


def pack_of(outer: int, one: Figures) -> Pack:
    """A plate of a diameter [um] from what its shims add up to."""
    shear = one.bending**2 / one.give if one.give > 0 else (inf if one.bending > 0 else 0.0)
    return Pack(outer * MICROMETRE / 2, one.bending, one.stretching, shear, one.height)


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
    counts : shims kept in each slot.
    filled : places of slots with any.
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
    counts: tuple[int, ...] = field(init=False, compare=False, repr=False)
    filled: tuple[int, ...] = field(init=False, compare=False, repr=False)
    _held_off: dict[Flags, tuple[int, ...]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )
    _opens: dict[Flags, Flags] = field(default_factory=dict, init=False, compare=False, repr=False)
    _stacks: dict[Flags, bool] = field(default_factory=dict, init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        """Count what is kept."""
        counts = tuple(len(slot.kept) for slot in self.slots)
        object.__setattr__(self, "counts", counts)
        object.__setattr__(self, "filled", tuple(place for place, count in enumerate(counts) if count))

    @property
    def settled(self) -> bool:
        """Whether every old shim is where it was, so that gaps move by what is put in and out alone."""
        return self.dropped == 0

    def held_off(self, present: Flags) -> tuple[int, ...]:
        """For each slot, how many packs of earlier runs hold it off when those ``present`` are there."""
        if present not in self._held_off:
            here = [slot for slot, flag in zip(self.slots, present, strict=True) if flag]
            self._held_off[present] = tuple(
                sum(slot.run < own.run and slot.outer < own.outer for slot in here) for own in self.slots
            )
        return self._held_off[present]

    def opens_gap(self, there: Flags) -> Flags:
        """For each slot, whether a wider pack follows in a later run when those ``there`` are filled."""
        if there not in self._opens:
            widest = [0] * (self.runs + 1)
            for slot, flag in zip(self.slots, there, strict=True):
                if flag:
                    widest[slot.run] = max(widest[slot.run], slot.outer)
            later = [max(widest[run + 1 :]) for run in range(self.runs)]
            self._opens[there] = tuple(slot.outer < later[slot.run] for slot in self.slots)
        return self._opens[there]

    def makes_a_stack(self, there: Flags) -> bool:
        """Whether slots ``there`` cover the ports and rise at every crossover."""
        if there not in self._stacks:
            least, most = [10**9] * self.runs, [0] * self.runs
            covers = False
            for slot, flag in zip(self.slots, there, strict=True):
                if flag:
                    least[slot.run] = min(least[slot.run], slot.outer)
                    most[slot.run] = max(most[slot.run], slot.outer)
                    covers = covers or (slot.run == 0 and slot.outer >= self.least_face)
            rises = all(least[run] < most[run + 1] for run in range(self.runs - 1))
            self._stacks[there] = covers and rises
        return self._stacks[there]

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
