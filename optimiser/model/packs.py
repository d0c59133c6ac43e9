"""A stack parted into packs: neighbouring shims of one diameter and one hole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from operator import attrgetter

from optimiser.model.stock import ShimKey


def packs_of(keys: Sequence[ShimKey]) -> tuple[tuple[ShimKey, ...], ...]:
    """Shims parted into packs, from the piston outwards."""
    return tuple(tuple(group) for _, group in groupby(keys, key=attrgetter("outer", "inner")))


def numbered_packs(keys: Sequence[ShimKey]) -> Iterator[tuple[int, tuple[ShimKey, ...]]]:
    """The same, each with the place of its first shim; 0 at the piston."""
    place = 0
    for pack in packs_of(keys):
        yield place, pack
        place += len(pack)
