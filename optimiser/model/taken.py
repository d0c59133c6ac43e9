"""What a new stack takes from the shelf: which shims, how many of how many, and where they lie."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from damping_model.stack.stack import Stack
from optimiser.model.edits import keys_of
from optimiser.model.stock import ShimKey, Stock


@dataclass(frozen=True, slots=True)
class Taken:
    """Shims of one type that come from the shelf.

    Parameters
    ----------
    key : the type.
    count : how many are taken.
    of : how many are free on the shelf, before.
    drawer : where they lie, in the shop's own words; empty when it has none.
    nominal : the type of their drawer, where ``key`` is what they measured; else None.
    readings : what those of the type measure that are to be taken; empty where any will do. [um]
    """

    key: ShimKey
    count: int
    of: int
    drawer: str = ""
    nominal: ShimKey | None = None
    readings: tuple[int, ...] = ()

    @property
    def left(self) -> int:
        """How many stay on the shelf; none where more are taken than lie there."""
        return max(self.of - self.count, 0)


def taken_from(stock: Stock, *, old: Stack, new: Stack) -> tuple[Taken, ...]:
    """What a new stack takes from the shelf, the largest first; what comes out of the damper is free.

    Parameters
    ----------
    stock : the shelf.
    old, new : the stack as it is, and as it is to be.
    """
    return taken_together(stock, [(old, new)])


def taken_together(stock: Stock, stacks: Iterable[tuple[Stack, Stack]]) -> tuple[Taken, ...]:
    """What several new stacks take from the shelf; what leaves one of them may come into another.

    Parameters
    ----------
    stock : the shelf.
    stacks : each as it is, and as it is to be.
    """
    here: Counter[ShimKey] = Counter()
    there: Counter[ShimKey] = Counter()
    for old, new in stacks:
        here.update(keys_of(old))
        there.update(keys_of(new))
    needed = there - here
    return tuple(
        Taken(key, count, stock.count(key), stock.drawers.get(key, ""), stock.nominal.get(key))
        for key, count in sorted(needed.items(), reverse=True)
    )
