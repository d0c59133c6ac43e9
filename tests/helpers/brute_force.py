"""Every stack within a number of changes, by taking out and putting in one shim after another.

Shares nothing with the search: no runs, no menus, no bounds. A stack is known by its packs, each as a sorted list.
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


def name_of(keys: Iterable[ShimKey]) -> Name:
    made: list[ShimKey] = []
    for _, pack in groupby(keys, key=lambda k: (k.outer, k.inner)):
        made += sorted(pack, key=lambda k: -k.thickness)
    return tuple(made)


def one_out(name: Name) -> set[Name]:
    return {name_of(name[:i] + name[i + 1 :]) for i in range(len(name))}


def one_in(name: Name, types: Iterable[ShimKey]) -> set[Name]:
    """Put one shim anywhere, also into the middle of a pack, whatever the order of that pack."""
    made = set()
    for key in types:
        for i in range(len(name) + 1):
            made.add(name_of((*name[:i], key, *name[i:])))
        start = 0
        for _, group in groupby(name, key=lambda k: (k.outer, k.inner)):
            pack = list(group)
            for left in part(pack):
                rest = list(pack)
                for k in left:
                    rest.remove(k)
                made.add(name_of((*name[:start], *left, key, *rest, *name[start + len(pack) :])))
            start += len(pack)
    return made


def part(pack: list[ShimKey]) -> set[Name]:
    """Every part of a pack, as sorted lists."""
    parts: set[Name] = {()}
    for key in pack:
        parts |= {tuple(sorted((*p, key))) for p in parts}
    return parts


def within(old: Stack, stock: Stock, changes: int) -> dict[Name, int]:
    """Every stack within a number of changes, with the fewest changes that lead to it."""
    start = name_of(ShimKey.of(s) for s in old.shims)
    types = sorted({*start, *(k for k, n in stock.counts.items() if n > 0)})
    return _within(start, tuple(types), changes)


@lru_cache(maxsize=1)
def _within(start: Name, types: tuple[ShimKey, ...], changes: int) -> dict[Name, int]:
    taken = [{start}]
    for _ in range(changes):
        taken.append(set().union(*(one_out(n) for n in taken[-1])))
    found: dict[Name, int] = {}
    for out in range(changes + 1):
        level = set(taken[out])
        for put_in in range(changes + 1):
            for name in level:
                cost = max(out, put_in)
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
