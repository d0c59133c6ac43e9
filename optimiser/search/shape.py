"""A skeleton made ready to search: its slots, what is in them, where shims may leave and come."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from math import comb

from damping_model.packs import PackedStack, PreloadRing
from damping_model.stack import Stack
from optimiser.search.sites import Figures, Patch, Site
from optimiser.stock import ShimKey


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
    before, after : the preload ring that it centres.
    ring : that ring as the model sees it.
    """

    run: int
    outer: int
    kept: tuple[ShimKey, ...]
    figures: tuple[Figures, ...]
    whole: Figures
    before: tuple[ShimKey, ...] = ()
    after: tuple[ShimKey, ...] = ()
    ring: PreloadRing | None = None


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

    @property
    def settled(self) -> bool:
        """Whether every old shim is where it was, so that gaps move by what is put in and out alone."""
        return self.dropped == 0

    def stack(self, outs: Sequence[Site], ins: Sequence[Site]) -> Stack | None:
        """The stack with some shims out and some in; None when a shim is to leave that is not there."""
        keys: list[ShimKey] = []
        gone: dict[int, Counter[ShimKey]] = {}
        come: dict[int, list[ShimKey]] = {}
        for site in outs:
            gone.setdefault(site.place, Counter())[site.key] += 1
        for site in ins:
            if site.key in gone.get(site.place, ()):
                return None
            come.setdefault(site.place, []).append(site.key)
        for place, slot in enumerate(self.slots):
            shims = list(slot.kept)
            for key, count in gone.get(place, {}).items():
                for _ in range(count):
                    if key not in shims:
                        return None
                    shims.remove(key)
            if place in come:
                shims = sorted([*shims, *come[place]], key=lambda key: (-key.thickness, key))
            keys += [*slot.before, *shims, *slot.after]
        return Stack(tuple(key.shim for key in keys))

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
