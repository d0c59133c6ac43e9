"""A skeleton made ready to search: its packs, what each may be made of, and the two ends of any family.

The model is monotone: force never falls when a plate is made stiffer, nor when a gap is made smaller. So one
run of the physics with every pack at its softest and every gap at its widest bounds a whole family from
below, one with every pack at its stiffest and every gap at its narrowest bounds it from above.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from damping_model.packs import Pack, PackedStack, PreloadRing
from damping_model.stack import Stack
from damping_model.units import MICROMETRE
from optimiser.search.menu import Menu, Reach
from optimiser.stock import ShimKey

Ranges = tuple[tuple[int, int], ...]
"""For each slot the first choice and the one behind the last."""

Plate = tuple[float, float, float]
"""Bending, stretching and shear stiffness. [N m, N/m, N/m]"""


@dataclass(frozen=True, slots=True)
class Slot:
    """A place where a pack of one diameter is, or could be.

    Parameters
    ----------
    run : which run of falling diameters it belongs to.
    outer : its diameter. [um]
    menu : what it may be made of.
    before, after : the preload ring that it centres.
    ring : that ring as the model sees it.
    """

    run: int
    outer: int
    menu: Menu
    before: tuple[ShimKey, ...] = ()
    after: tuple[ShimKey, ...] = ()
    ring: PreloadRing | None = None

    @property
    def occupied(self) -> bool:
        """Whether there are shims in it now."""
        return bool(self.menu.contents[self.menu.now])


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
    """

    slots: tuple[Slot, ...]
    runs: int
    dropped: int
    pattern: PackedStack
    least_face: int
    clamp_radius: float

    def whole(self) -> Ranges:
        """The family of all stacks of this shape."""
        return tuple((0, len(slot.menu.contents)) for slot in self.slots)

    def beginnings(self) -> Iterator[Ranges]:
        """Families that part all stacks of this shape by what makes the first rise that is not there yet.

        The smallest pack of the run before it is one that comes, or the widest of the run behind it is.
        """
        flat = next((run for run in range(self.runs - 1) if not self._rises(run)), None)
        if flat is None:
            yield self.whole()
            return
        ahead = [p for p, slot in enumerate(self.slots) if slot.run == flat]
        behind = [p for p, slot in enumerate(self.slots) if slot.run == flat + 1]
        new_ahead = [p for p in ahead if not self.slots[p].occupied and self._below(p, ahead)]
        for place in new_ahead:
            yield self._with({place: True} | {p: False for p in ahead if p > place and p in new_ahead})
        for place in behind:
            if not self.slots[place].occupied:
                first = dict.fromkeys(new_ahead, False) | {p: False for p in behind if p < place}
                if all(not self.slots[p].occupied for p in behind if p < place):
                    yield self._with(first | {place: True})

    def _rises(self, run: int) -> bool:
        ahead = [slot.outer for slot in self.slots if slot.run == run and slot.occupied]
        behind = [slot.outer for slot in self.slots if slot.run == run + 1 and slot.occupied]
        return bool(ahead and behind and min(ahead) < max(behind))

    def _below(self, place: int, ahead: Sequence[int]) -> bool:
        """Whether every pack of the run that is there now is wider than a slot."""
        return all(p < place for p in ahead if self.slots[p].occupied)

    def _with(self, there: Mapping[int, bool]) -> Ranges:
        """Some slots surely with a shim, some surely without."""
        ranges = list(self.whole())
        for place, present in there.items():
            ranges[place] = (1, ranges[place][1]) if present else (0, 1)
        return tuple(ranges)

    def narrowed(self, ranges: Ranges, changes: int) -> tuple[Reach, ...] | None:
        """Floor and ceiling of each slot within the changes the others leave; None for no member."""
        loose = []
        for slot, (start, stop) in zip(self.slots, ranges, strict=True):
            reach = slot.menu.reach(start, stop, changes, changes)
            if reach is None:
                return None
            loose.append(reach)
        out = self.dropped + sum(reach.least_out for reach in loose)
        put_in = sum(reach.least_in for reach in loose)
        if out > changes or put_in > changes:
            return None
        reaches = []
        for slot, (start, stop), reach in zip(self.slots, ranges, loose, strict=True):
            tight = slot.menu.reach(
                start, stop, changes - out + reach.least_out, changes - put_in + reach.least_in
            )
            if tight is None:
                return None
            reaches.append(tight)
        return tuple(reaches)

    def may_rise(self, reaches: Sequence[Reach]) -> bool:
        """Whether a member can have a crossover between all runs and a face that covers the ports."""
        pairs = list(zip(self.slots, reaches, strict=True))
        for run in range(self.runs - 1):
            ahead = [slot.outer for slot, reach in pairs if slot.run == run and reach.high > 0]
            behind = [slot.outer for slot, reach in pairs if slot.run == run + 1 and reach.high > 0]
            if not ahead or not behind or min(ahead) >= max(behind):
                return False
        return any(
            slot.run == 0 and reach.high > 0 and slot.outer >= self.least_face for slot, reach in pairs
        )

    def softest(
        self, ranges: Ranges, reaches: Sequence[Reach], changes: int, thickest: float
    ) -> PackedStack | None:
        """No member gives less force than this stack; None when no face shim is sure to be there.

        Shims that may leave, but need not, can lie at many diameters; as much stiffness as may leave is
        taken from the widest of them, since a shim never makes a stack stiffer by being narrower.

        Parameters
        ----------
        ranges, reaches : choices in each slot, with their floor and ceiling.
        changes : most shims out and most shims in.
        thickest : height of the thickest shim there is. [m]
        """
        plates = self._floors(ranges, reaches, changes)
        spare_in = changes - sum(reach.least_in for reach in reaches)
        gaps = self._extra_gaps(reaches, plates, spare_in * thickest)
        packs: list[Pack] = []
        rings: list[PreloadRing] = []
        thickness = 0.0
        for place, (slot, reach, plate) in enumerate(zip(self.slots, reaches, plates, strict=True)):
            if plate is not None:
                face = not packs
                if face:
                    if slot.run > 0 or slot.outer < self.least_face:
                        return None
                    thickness = min(reach.thick, reach.low)
                rings += _ring(slot, len(packs))
                height = reach.high if self._opens_gap(place, reaches) else reach.low
                packs.append(Pack(slot.outer * MICROMETRE / 2, *plate, height))
            if gaps.get(place) and packs:
                packs.append(Pack(self.clamp_radius, 0.0, 0.0, 0.0, gaps[place]))
        if not packs:
            return None
        return replace(self.pattern, packs=tuple(packs), rings=tuple(rings), face_thickness=thickness)

    def _floors(self, ranges: Ranges, reaches: Sequence[Reach], changes: int) -> list[Plate | None]:
        """Least stiffness of each slot; None where there may be nothing."""
        spare = changes - self.dropped - sum(reach.least_out for reach in reaches)
        spare_in = changes - sum(reach.least_in for reach in reaches)
        plates: list[Plate | None] = [None if reach.empty else reach.soft for reach in reaches]
        for group in self._groups(reaches):
            less = [max(self.slots[p].menu.one_less[i] for p in group) * spare for i in range(2)]
            for place in group:
                menu, reach = self.slots[place].menu, reaches[place]
                own = menu.reach(
                    ranges[place][0], len(menu.contents), reach.least_out, spare_in + reach.least_in
                )
                if own is None or own.empty or own.soft[0] <= 0:
                    continue
                bending = max(own.soft[0] - less[0], reach.soft[0])
                stretching = max(own.soft[1] - less[1], reach.soft[1])
                less = [max(less[0] - own.soft[0], 0.0), max(less[1] - own.soft[1], 0.0)]
                if bending > 0 and stretching > 0:
                    shear = max(own.soft[2] * bending / own.soft[0], reach.soft[2])
                    plates[place] = (bending, stretching, shear)
        return plates

    def _groups(self, reaches: Sequence[Reach]) -> Iterator[list[int]]:
        """Slots of one run from which shims may leave that need not, parted by the stiffness of one shim."""
        kinds: dict[tuple[int, int, float], list[int]] = {}
        there = [reach.high > 0 for reach in reaches]
        for place, (slot, reach) in enumerate(zip(self.slots, reaches, strict=True)):
            if reach.most_out > reach.least_out:
                kinds.setdefault((slot.run, self._level(place, there), slot.menu.one_less[0]), []).append(
                    place
                )
        return (group for group in kinds.values() if len(group) > 1)

    def stiffest(self, ranges: Ranges, reaches: Sequence[Reach], changes: int) -> PackedStack:
        """No member gives more force than this stack.

        Shims that may come, but need not, can lie at many diameters; as many as may come are put at the
        widest of them, since a shim never makes a stack stiffer by being narrower.
        """
        spare_out = changes - self.dropped - sum(reach.least_out for reach in reaches)
        spare = changes - sum(reach.least_in for reach in reaches)
        pools = {place: pool for pool in self._pools(reaches) for place in pool}
        packs: list[Pack] = []
        rings: list[PreloadRing] = []
        thickness = 0.0
        for place, (slot, reach) in enumerate(zip(self.slots, reaches, strict=True)):
            pool = pools.get(place, [])
            plate, high = reach.stiff, reach.high
            if len(pool) > 1:
                own = slot.menu.reach(0, ranges[place][1], spare_out + reach.least_out, reach.least_in)
                if own is not None:
                    plate, high = own.stiff, own.high
                if place == pool[0]:
                    more = [max(self.slots[p].menu.one_more[i] for p in pool) * spare for i in range(4)]
                    plate, high = _glued(plate, (more[0], more[1], more[2])), high + more[3]
            if high > 0:
                if not packs:
                    thickness = reach.thin if not reach.empty else 0.0
                rings += _ring(slot, len(packs))
                height = reach.low if self._opens_gap(place, reaches) else high
                packs.append(Pack(slot.outer * MICROMETRE / 2, *plate, height))
        return replace(self.pattern, packs=tuple(packs), rings=tuple(rings), face_thickness=thickness)

    def _opens_gap(self, place: int, reaches: Sequence[Reach]) -> bool:
        """Whether a wider pack may follow in a later run. If not, height only stiffens."""
        own = self.slots[place]
        return any(
            slot.run > own.run and slot.outer > own.outer and reach.high > 0
            for slot, reach in zip(self.slots, reaches, strict=True)
        )

    def _pools(self, reaches: Sequence[Reach]) -> Iterable[list[int]]:
        """Slots into which shims may come that need not, grouped by their gaps, widest first."""
        pools: dict[tuple[int, int], list[int]] = {}
        sure = [not reach.empty for reach in reaches]
        for place, (slot, reach) in enumerate(zip(self.slots, reaches, strict=True)):
            if reach.most_in > reach.least_in:
                pools.setdefault((slot.run, self._level(place, sure)), []).append(place)
        return pools.values()

    def _level(self, place: int, there: Sequence[bool]) -> int:
        """How many packs of earlier runs are narrower than a slot and so hold it off."""
        own = self.slots[place]
        return sum(
            there[p] and slot.run < own.run and slot.outer < own.outer for p, slot in enumerate(self.slots)
        )

    def stack(self, choice: Sequence[int]) -> Stack:
        """The stack that a choice in every slot amounts to."""
        keys: list[ShimKey] = []
        for slot, place in zip(self.slots, choice, strict=True):
            keys += [*slot.before, *slot.menu.contents[place], *slot.after]
        return Stack(tuple(key.shim for key in keys))

    def _extra_gaps(
        self, reaches: Sequence[Reach], plates: Sequence[Plate | None], room: float
    ) -> Mapping[int, float]:
        """Height that packs which are not sure could add to the gap behind a run, by its last slot."""
        gaps: dict[int, float] = {}
        for run in range(self.runs - 1):
            places = [place for place, slot in enumerate(self.slots) if slot.run == run]
            loose = [place for place in places if plates[place] is None]
            new = sum(reaches[place].high for place in loose if not self.slots[place].occupied)
            old = sum(reaches[place].high for place in loose if self.slots[place].occupied)
            if old + min(new, room) > 0:
                gaps[places[-1]] = old + min(new, room)
        return gaps


def _ring(slot: Slot, place: int) -> tuple[PreloadRing, ...]:
    return () if slot.ring is None else (replace(slot.ring, centring=place),)


def _glued(one: Plate, two: Plate) -> Plate:
    """Bending, stretching and shear stiffness of two plates that move as one."""
    give = sum(part[0] ** 2 / part[2] for part in (one, two) if part[0] > 0)
    bending = one[0] + two[0]
    return bending, one[1] + two[1], bending**2 / give if give > 0 else max(one[2], two[2])
