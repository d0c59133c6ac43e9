"""Every stack within a number of changes, by taking out and putting in one shim after another.

Shares nothing with the search: no runs, no menus, no bounds. A stack is a plain row of shims, so every order counts.
What centres a preload ring is told by its places, and stays.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from functools import lru_cache
from itertools import groupby

from damping_model.stack.stack import Stack
from optimiser.model.goal import Goal
from optimiser.model.rules import Mounting, Rule
from optimiser.model.stock import ShimKey, Stock

Name = tuple[ShimKey, ...]
Row = tuple[Name, ...]
"""Shims that may leave, one by one, and rows of those that stay together."""


def row_of(name: Iterable[ShimKey]) -> Row:
    """Shims that may all leave."""
    return tuple((key,) for key in name)


def name_of(row: Row) -> Name:
    return tuple(key for part in row for key in part)


def one_out(row: Row) -> set[Row]:
    return {row[:i] + row[i + 1 :] for i in range(len(row)) if len(row[i]) == 1}


def one_in(row: Row, types: Iterable[ShimKey]) -> set[Row]:
    """Put one shim anywhere, but between a ring and what centres it."""
    return {(*row[:i], (key,), *row[i:]) for key in types for i in range(len(row) + 1)}


def contents(name: Name) -> tuple[Name, ...]:
    """What lies in each pack, in whatever order."""
    return tuple(tuple(sorted(pack)) for _, pack in groupby(name, key=lambda k: (k.outer, k.inner)))


def within(
    old: Stack, stock: Stock, changes: int, *, stays: tuple[int, int] | None = None
) -> dict[Name, int]:
    """Every stack within a number of changes, with the fewest changes that lead to it.

    ``stays``: first place and last of a ring and the shims that centre it.
    """
    keys = tuple(ShimKey.of(s) for s in old.shims)
    row = row_of(keys)
    if stays is not None:
        first, last = stays
        row = (*row[:first], keys[first : last + 1], *row[last + 1 :])
    hole = keys[0].inner
    types = sorted({*keys, *(k for k, n in stock.counts.items() if n > 0)})
    return _within(row, tuple(key for key in types if key.inner == hole), changes)


@lru_cache(maxsize=1)
def _within(start: Row, types: tuple[ShimKey, ...], changes: int) -> dict[Name, int]:
    taken = [{start}]
    for _ in range(changes):
        taken.append(set().union(*(one_out(n) for n in taken[-1])))
    found: dict[Name, int] = {}
    for out in range(changes + 1):
        level = set(taken[out])
        for put_in in range(changes + 1):
            cost = max(out, put_in)
            for row in level:
                name = name_of(row)
                if cost < found.get(name, changes + 1):
                    found[name] = cost
            if put_in < changes:
                level = set().union(*(one_in(n, types) for n in level)) if level else set()
    return found


def at_hand(old: Stack, stock: Stock) -> Counter[ShimKey]:
    """In the damper and on the shelf together."""
    return Counter(ShimKey.of(s) for s in old.shims) + Counter(stock.counts)


def buildable(
    name: Name, have: Counter[ShimKey], goal: Goal, mounting: Mounting, rules: tuple[Rule, ...]
) -> bool:
    """Whether what there is, the height and the rules allow a stack."""
    if any(count > have[key] for key, count in Counter(name).items()):
        return False
    made = Stack(tuple(k.shim for k in name))
    if not goal.least_height - 5e-7 <= made.height <= goal.most_height + 5e-7:
        return False
    return not any(rule.violations(made, mounting) for rule in rules)
