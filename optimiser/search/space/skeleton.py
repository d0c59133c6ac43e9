"""Where the shims of a stack may go: every way of keeping them in runs of falling diameter.

A run is a stretch of the stack whose diameters fall; the smallest pack of a run that another run follows is a
crossover. A skeleton says which of the old shims stay in which run. Every buildable stack belongs to at
least one skeleton in which it keeps as many of the old shims as can be kept.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product

from damping_model.stack.stack import Stack
from optimiser.model.edits import keys_of, packs_of
from optimiser.model.stock import ShimKey

Kept = tuple[tuple[int, tuple[ShimKey, ...]], ...]
"""Run and shims, pack by pack from the piston."""


@dataclass(frozen=True, slots=True)
class OldPack:
    """Neighbouring shims of one diameter in the stack as it is.

    Parameters
    ----------
    keys : its shims, from the piston outwards.
    before, after : a preload ring on the piston's side of it, or behind it.
    """

    keys: tuple[ShimKey, ...]
    before: tuple[ShimKey, ...] = ()
    after: tuple[ShimKey, ...] = ()

    @property
    def frozen(self) -> bool:
        """Whether it centres a ring: then both stay as they are, since more height means less preload."""
        return bool(self.before or self.after)


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


def old_packs(stack: Stack, *, hole: int) -> tuple[OldPack, ...]:
    """Packs of a stack, each ring joined to the pack that centres it; ``hole`` of the shaft. [um]"""
    packs: list[OldPack] = []
    waiting: tuple[ShimKey, ...] = ()
    for keys in packs_of(keys_of(stack)):
        if keys[0].inner != hole:
            waiting += keys
        elif waiting and keys[0].outer > waiting[-1].inner and packs:
            packs[-1] = OldPack(packs[-1].keys, packs[-1].before, waiting)
            packs.append(OldPack(keys))
            waiting = ()
        else:
            packs.append(OldPack(keys, before=waiting))
            waiting = ()
    if waiting and packs:
        packs[-1] = OldPack(packs[-1].keys, packs[-1].before, waiting)
    return tuple(packs)


def skeletons(packs: Sequence[OldPack], *, most_runs: int, most_changes: int) -> tuple[Skeleton, ...]:
    """Every skeleton within a number of changes that no other one contains, fewest changes first."""
    found: list[Skeleton] = []
    for runs in range(1, most_runs + 1):
        every = set(_assign(packs, runs, most_changes))
        bags = {kept: _bag(kept) for kept, _ in every}
        for kept, dropped in sorted(every, key=lambda item: (item[1], item[0])):
            if dropped and any(other != kept and _within(bags[kept], bags[other]) for other, less in every
                               if less < dropped):  # fmt: skip
                continue
            least_in = _least_in(kept, runs)
            if least_in <= most_changes:
                found.append(Skeleton(runs, kept, dropped, least_in))
    return tuple(sorted(found, key=lambda s: (max(s.dropped, s.least_in), s.runs, s.kept)))


def _assign(packs: Sequence[OldPack], runs: int, budget: int) -> Iterator[tuple[Kept, int]]:
    """Keep, split or drop pack after pack, never turning back to an earlier run."""

    def walk(place: int, run: int, last: int | None, kept: Kept, left: int) -> Iterator[tuple[Kept, int]]:
        if place == len(packs):
            yield kept, budget - left
            return
        pack = packs[place]
        outer = pack.keys[0].outer
        for to in range(run, runs):
            if to > run or last is None or outer <= last:
                yield from walk(place + 1, to, outer, (*kept, (to, pack.keys)), left)
        if pack.frozen:
            return
        if len(pack.keys) <= left:
            yield from walk(place + 1, run, last, kept, left - len(pack.keys))
        starts = [run] if last is None or outer <= last else []
        starts += range(run + 1, runs)
        for start in starts:
            for spread in _spreads(pack.keys, runs - start):
                parts = tuple((start + step, part) for step, part in enumerate(spread) if part)
                if len(parts) > 1 and parts[0][0] == start:
                    yield from walk(place + 1, parts[-1][0], outer, (*kept, *parts), left)

    return walk(0, 0, None, (), budget)


def _spreads(keys: tuple[ShimKey, ...], runs: int) -> Iterator[tuple[tuple[ShimKey, ...], ...]]:
    """Every way to part a pack over runs."""
    counts = sorted(Counter(keys).items())
    ways = [list(_shares(count, runs)) for _, count in counts]
    for choice in product(*ways):
        yield tuple(
            tuple(key for (key, _), shares in zip(counts, choice, strict=True) for _ in range(shares[run]))
            for run in range(runs)
        )


def _shares(count: int, runs: int) -> Iterator[tuple[int, ...]]:
    if runs == 1:
        yield (count,)
        return
    for first in range(count + 1):
        for rest in _shares(count - first, runs - 1):
            yield (first, *rest)


def _bag(kept: Kept) -> Counter[tuple[int, ShimKey]]:
    return Counter((run, key) for run, keys in kept for key in keys)


def _within(small: Counter[tuple[int, ShimKey]], large: Counter[tuple[int, ShimKey]]) -> bool:
    return all(large[item] >= count for item, count in small.items())


def _least_in(kept: Kept, runs: int) -> int:
    """Shims that have to come before every run begins wider than the run before it ends.

    One shim makes one such rise, or two when it makes a run of its own that fits between its neighbours.
    """
    outers = [[keys[0].outer for run, keys in kept if run == r] for r in range(runs)]
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
