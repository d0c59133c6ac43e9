"""Where the shims of a stack may go: every way of keeping them in runs of falling diameter.

A run is a stretch of the stack whose diameters fall; the smallest pack of a run that another run follows is a
crossover. A skeleton says which of the old shims stay in which run. Every buildable stack belongs to at
least one skeleton in which it keeps as many of the old shims as can be kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from optimiser.model.rings import CentredPack
from optimiser.model.stock import ShimKey


@dataclass(frozen=True, slots=True, order=True)
class KeptPack:
    """An old pack, or a part of one, that stays.

    Parameters
    ----------
    run : the run that it lies in.
    number : of the old pack, from the piston outwards.
    keys : its shims, in the order that they lie in.
    """

    run: int
    number: int
    keys: tuple[ShimKey, ...]


Kept = tuple[KeptPack, ...]
"""What stays, from the piston outwards."""

Named = ShimKey | int
"""A shim by its type, or by a number."""


@dataclass(frozen=True, slots=True)
class Skeleton:
    """Old shims that stay, by run.

    Parameters
    ----------
    runs : number of runs of falling diameter.
    kept : run and shims of every old pack, or part of one, that stays.
    dropped : shims that have to leave for it.
    least_in : shims that have to come for it.
    """

    runs: int
    kept: Kept
    dropped: int
    least_in: int


def skeletons(packs: Sequence[CentredPack], *, most_runs: int, most_changes: int) -> tuple[Skeleton, ...]:
    """Every skeleton within a number of changes that no other one contains, fewest changes first."""
    found: list[Skeleton] = []
    for runs in range(1, most_runs + 1):
        every = sorted(set(_assign(packs, runs, most_changes)), key=lambda item: (item[1], item[0]))
        shims = {kept: _by_run(kept, runs, packs) for kept, _ in every}
        for kept, dropped in every:
            if dropped and any(_within(shims[kept], shims[other]) for other, less in every
                               if less < dropped):  # fmt: skip
                continue
            least_in = _least_in(kept, runs)
            if least_in <= most_changes:
                found.append(Skeleton(runs, kept, dropped, least_in))
    return tuple(sorted(found, key=lambda s: (max(s.dropped, s.least_in), s.runs, s.kept)))


def _assign(packs: Sequence[CentredPack], runs: int, budget: int) -> Iterator[tuple[Kept, int]]:
    """Keep, split or drop pack after pack, never turning back to an earlier run."""

    def walk(place: int, run: int, last: int | None, kept: Kept, left: int) -> Iterator[tuple[Kept, int]]:
        if place == len(packs):
            yield kept, budget - left
            return
        pack = packs[place]
        outer = pack.keys[0].outer
        falls = last is None or outer <= last
        for to in range(run, runs):
            if to > run or falls:
                yield from walk(place + 1, to, outer, (*kept, KeptPack(to, place, pack.keys)), left)
        if pack.has_ring:
            return
        if len(pack.keys) <= left:
            yield from walk(place + 1, run, last, kept, left - len(pack.keys))
        for start in range(run if falls else run + 1, runs):
            for parts in _splits(pack.keys, runs - start):
                split = tuple(KeptPack(start + step, place, part) for step, part in parts)
                yield from walk(place + 1, split[-1].run, outer, (*kept, *split), left)

    return walk(0, 0, None, (), budget)


def _splits(keys: tuple[ShimKey, ...], runs: int) -> Iterator[tuple[tuple[int, tuple[ShimKey, ...]], ...]]:
    """Every way to cut a pack over runs, some in the first of them; the shims keep their order.

    Other shares of its shims are a cut and a shim that goes from one part to another.
    """
    for counts in _shares(len(keys), runs):
        if 0 < counts[0] < len(keys):
            ends = list(accumulate(counts))
            yield tuple(
                (step, keys[end - count : end])
                for step, (count, end) in enumerate(zip(counts, ends, strict=True))
                if count
            )


def _shares(count: int, runs: int) -> Iterator[tuple[int, ...]]:
    if runs == 1:
        yield (count,)
        return
    for first in range(count + 1):
        for rest in _shares(count - first, runs - 1):
            yield (first, *rest)


def _by_run(kept: Kept, runs: int, packs: Sequence[CentredPack]) -> tuple[tuple[Named, ...], ...]:
    """The shims of each run; a pack that centres a ring by its number, since no other can take its place."""
    return tuple(
        tuple(
            name
            for pack in kept
            if pack.run == run
            for name in ((pack.number,) if packs[pack.number].has_ring else pack.keys)
        )
        for run in range(runs)
    )


def _within(small: Sequence[tuple[Named, ...]], large: Sequence[tuple[Named, ...]]) -> bool:
    """Whether in every run shims of the larger that leave make the smaller."""
    return all(_is_part(one, iter(other)) for one, other in zip(small, large, strict=True))


def _is_part(small: tuple[Named, ...], large: Iterator[Named]) -> bool:
    return all(name in large for name in small)


def _least_in(kept: Kept, runs: int) -> int:
    """Shims that have to come before every run begins wider than the run before it ends.

    One shim makes one such rise, or two when it makes a run of its own that fits between its neighbours.
    """
    outers = [[pack.keys[0].outer for pack in kept if pack.run == r] for r in range(runs)]
    needed, run = 0, 0
    flat = [not (a and b and min(a) < max(b)) for a, b in pairwise(outers)]
    while run < runs - 1:
        if flat[run]:
            needed += 1
            between = outers[run + 1]
            if not between and run + 2 < runs and (not outers[run] or not outers[run + 2]
                                                   or min(outers[run]) < max(outers[run + 2])):  # fmt: skip
                run += 1
        run += 1
    return needed
