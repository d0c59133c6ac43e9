"""The difference between two stacks, as what a person does: the fewest shims out and in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from operator import attrgetter

from damping_model.stack.stack import Stack
from optimiser.model.answer import Change
from optimiser.model.stock import ShimKey

Pack = tuple[tuple[int, ShimKey], ...]
"""Neighbouring shims of one diameter and one hole, each with its place in the stack."""


@dataclass(frozen=True, slots=True)
class Difference:
    """What leaves one stack and comes into another, when as many shims as possible stay.

    Parameters
    ----------
    out : places in the old stack of the shims that leave, 0 at the piston.
    put_in : places in the new stack of the shims that come.
    """

    out: tuple[int, ...]
    put_in: tuple[int, ...]

    @property
    def changes(self) -> int:
        """Number of changes: a shim out and a shim in are one."""
        return max(len(self.out), len(self.put_in))


def keys_of(stack: Stack) -> tuple[ShimKey, ...]:
    """Types of a stack's shims, from the piston outwards."""
    return tuple(map(ShimKey.of, stack.shims))


def stack_of(keys: Sequence[ShimKey]) -> Stack:
    """The stack of some types, from the piston outwards."""
    return Stack(tuple(key.shim for key in keys))


def packs_of(keys: Sequence[ShimKey]) -> tuple[tuple[ShimKey, ...], ...]:
    """Shims parted into packs: neighbours of one diameter and one hole, whose order counts for nothing."""
    return tuple(tuple(group) for _, group in groupby(keys, key=attrgetter("outer", "inner")))


def difference(old: Stack, new: Stack) -> Difference:
    """The fewest shims out and in that turn one stack into another.

    Shims that stay keep their order from pack to pack; inside a pack their order is free, since the stack is
    apart anyway. A shim that goes from one stage to another is one out and one in.
    """
    if old == new:
        return Difference((), ())
    before, after = _placed(old), _placed(new)
    kept_old, kept_new = _kept(before, after)
    return Difference(
        tuple(place for place in range(len(old.shims)) if place not in kept_old),
        tuple(place for place in range(len(new.shims)) if place not in kept_new),
    )


def changes_between(old: Stack, new: Stack) -> tuple[Change, ...]:
    """Changes as the tuner does them, from the piston outwards; neighbours out and in are one swap."""
    found = difference(old, new)
    old_keys, new_keys = keys_of(old), keys_of(new)
    outs, ins = list(found.out), list(found.put_in)
    swaps: list[tuple[int, int]] = []
    while outs and ins:
        place, coming = min(
            ((o, i) for o in outs for i in ins),
            key=lambda pair: (_distance(old_keys[pair[0]], new_keys[pair[1]]), abs(pair[0] - pair[1]), pair),
        )
        swaps.append((place, coming))
        outs.remove(place)
        ins.remove(coming)
    made = [
        *(Change(old_keys[o], new_keys[i], o, i) for o, i in swaps),
        *(Change(old_keys[o], None, o, None) for o in outs),
        *(Change(None, new_keys[i], None, i) for i in ins),
    ]
    return tuple(sorted(made, key=_place))


def in_place(change: Change, changes: Sequence[Change]) -> bool:
    """Whether a shim comes where the other one leaves: as many shims that stay lie nearer to the piston.

    Parameters
    ----------
    change : one out and one in.
    changes : all that are made together.
    """
    if change.out_after is None or change.in_after is None:
        return False
    gone = sum(one.out_after is not None and one.out_after < change.out_after for one in changes)
    come = sum(one.in_after is not None and one.in_after < change.in_after for one in changes)
    return change.out_after - gone == change.in_after - come


def _distance(leaving: ShimKey, coming: ShimKey) -> tuple[int, int]:
    return abs(leaving.outer - coming.outer), abs(leaving.thickness - coming.thickness)


def _place(change: Change) -> tuple[int, bool]:
    places = [place for place in (change.out_after, change.in_after) if place is not None]
    return min(places), change.out is None


def _placed(stack: Stack) -> tuple[Pack, ...]:
    numbered = enumerate(keys_of(stack))
    return tuple(
        tuple(group) for _, group in groupby(numbered, key=lambda item: (item[1].outer, item[1].inner))
    )


def _kept(before: tuple[Pack, ...], after: tuple[Pack, ...]) -> tuple[frozenset[int], frozenset[int]]:
    """Places of the shims that stay.

    Packs that are alike at both ends stay as they are. Between them a walk goes from pack to pack through
    both stacks and never turns back; where it meets two packs of one diameter, all that they share stays.
    Keeping one for later never gains more than keeping it at once.
    """
    if before and after and _types(before[0]) == _types(after[0]):
        old_places, new_places = _kept(before[1:], after[1:])
        return _places(before[0]) | old_places, _places(after[0]) | new_places
    if before and after and _types(before[-1]) == _types(after[-1]):
        old_places, new_places = _kept(before[:-1], after[:-1])
        return old_places | _places(before[-1]), new_places | _places(after[-1])

    @cache
    def best(i: int, j: int, left_old: Pack, left_new: Pack) -> tuple[int, frozenset[int], frozenset[int]]:
        if i == len(before) or j == len(after):
            return 0, frozenset(), frozenset()
        here_old, here_new, rest_old, rest_new = _shared(left_old, left_new)
        next_old = before[i + 1] if i + 1 < len(before) else ()
        next_new = after[j + 1] if j + 1 < len(after) else ()
        onward = best(i + 1, j, next_old, rest_new)
        other = best(i, j + 1, rest_old, next_new)
        if other[0] > onward[0]:
            onward = other
        return len(here_old) + onward[0], onward[1] | here_old, onward[2] | here_new

    _, old_places, new_places = best(0, 0, before[0] if before else (), after[0] if after else ())
    return old_places, new_places


def _types(pack: Pack) -> tuple[ShimKey, ...]:
    return tuple(sorted(key for _, key in pack))


def _places(pack: Pack) -> frozenset[int]:
    return frozenset(place for place, _ in pack)


def _shared(one: Pack, two: Pack) -> tuple[frozenset[int], frozenset[int], Pack, Pack]:
    common = Counter(key for _, key in one) & Counter(key for _, key in two)
    stays_one, rest_one = _take(one, common)
    stays_two, rest_two = _take(two, common)
    return stays_one, stays_two, rest_one, rest_two


def _take(pack: Pack, wanted: Counter[ShimKey]) -> tuple[frozenset[int], Pack]:
    left = Counter(wanted)
    stays, rest = set(), []
    for place, key in pack:
        if left[key] > 0:
            left[key] -= 1
            stays.add(place)
        else:
            rest.append((place, key))
    return frozenset(stays), tuple(rest)
