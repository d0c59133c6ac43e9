"""The difference between two stacks, as what a person does: the fewest shims out and in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from damping_model.stack.stack import Stack
from optimiser.model.answer import Change
from optimiser.model.packs import packs_of
from optimiser.model.rings import ring_packs
from optimiser.model.stock import ShimKey, shim_of

Keys = tuple[ShimKey, ...]
"""Types of a stack's shims, from the piston outwards."""


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
    asked, keys = _LAST[0]
    if asked is not stack:  # every rule asks for those of the same stack
        keys = tuple(map(ShimKey.of, stack.shims))
        _LAST[0] = stack, keys
    return keys


_LAST: list[tuple[Stack | None, tuple[ShimKey, ...]]] = [(None, ())]
"""The stack that was made or asked about last, and its types."""


def stack_of(keys: Sequence[ShimKey]) -> Stack:
    """The stack of some types, from the piston outwards."""
    stack = Stack(tuple(map(shim_of, keys)))
    _LAST[0] = stack, tuple(keys)
    return stack


def contents_of(stack: Stack) -> tuple[tuple[ShimKey, ...], ...]:
    """What lies in each pack, whatever its order."""
    return tuple(tuple(sorted(pack)) for pack in packs_of(keys_of(stack)))


def difference(old: Stack, new: Stack) -> Difference:
    """The fewest shims out and in that turn one stack into another.

    Shims that stay keep their order, inside a pack too. A shim that goes to another place is one out and one
    in. So as many stay as the longest common subsequence of the two stacks has.
    """
    before, after = keys_of(old), keys_of(new)
    kept = list(_stays(before, after))
    kept_old, kept_new = {i for i, _ in kept}, {j for _, j in kept}
    return Difference(_last_of_alike(before, kept_old), _last_of_alike(after, kept_new))


def rebuilt(old: Stack, changes: Sequence[Change]) -> Stack | None:
    """The stack that changes come to when they are done by hand: shims out first, then the others in.

    None when a shim is to leave that does not lie at its place, or a place is beyond the stack.
    """
    keys: list[ShimKey | None] = list(keys_of(old))
    for change in changes:
        if change.out is None:
            continue
        place = change.out_after
        if place is None or not 0 <= place < len(keys) or keys[place] != change.out:
            return None
        keys[place] = None
    made = [key for key in keys if key is not None]
    coming = [(one.in_after, one.put_in) for one in changes if one.put_in is not None]
    for place, key in sorted(coming, key=lambda item: -1 if item[0] is None else item[0]):
        if place is None or not 0 <= place <= len(made):
            return None
        made.insert(place, key)
    return stack_of(made)


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


def _stays(before: Keys, after: Keys) -> Iterator[tuple[int, int]]:
    """Places in both stacks of the shims that stay; a ring stays with the pack that centres it."""
    from_old, from_new = 0, 0
    old_rings, new_rings = ring_packs(before), ring_packs(after)
    if [pack.all for pack in old_rings] == [pack.all for pack in new_rings]:
        for one, other in zip(old_rings, new_rings, strict=True):
            yield from _common(before, (from_old, one.place), after, (from_new, other.place))
            yield from ((one.place + k, other.place + k) for k in range(len(one.all)))
            from_old, from_new = one.place + len(one.all), other.place + len(other.all)
    yield from _common(before, (from_old, len(before)), after, (from_new, len(after)))


def _common(
    before: Keys, old: tuple[int, int], after: Keys, new: tuple[int, int]
) -> Iterator[tuple[int, int]]:
    """Places of a longest common subsequence of a stretch of each stack."""
    first, last = 0, 0
    most = min(old[1] - old[0], new[1] - new[0])
    while first < most and before[old[0] + first] == after[new[0] + first]:
        yield old[0] + first, new[0] + first
        first += 1
    while last < most - first and before[old[1] - 1 - last] == after[new[1] - 1 - last]:
        last += 1
        yield old[1] - last, new[1] - last
    one, two = before[old[0] + first : old[1] - last], after[new[0] + first : new[1] - last]
    yield from ((old[0] + first + i, new[0] + first + j) for i, j in _longest(one, two))


def _last_of_alike(keys: Keys, kept: set[int]) -> tuple[int, ...]:
    """Places of the shims that are not kept: of neighbours that are alike the last ones."""
    places: list[int] = []
    end = len(keys)
    for place in reversed(range(len(keys))):
        if place + 1 < len(keys) and keys[place] != keys[place + 1]:
            end = place + 1
        if place not in kept:
            places.append(end - 1)
            end -= 1
    return tuple(reversed(places))


def _longest(before: Keys, after: Keys) -> Iterator[tuple[int, int]]:
    """Places of a longest common subsequence, in both."""
    longest = [[0] * (len(after) + 1) for _ in range(len(before) + 1)]
    for i in reversed(range(len(before))):
        for j in reversed(range(len(after))):
            longest[i][j] = (
                1 + longest[i + 1][j + 1]
                if before[i] == after[j]
                else max(longest[i + 1][j], longest[i][j + 1])
            )
    i = j = 0
    while i < len(before) and j < len(after):
        if before[i] == after[j]:
            yield i, j
            i, j = i + 1, j + 1
        elif longest[i + 1][j] >= longest[i][j + 1]:
            i += 1
        else:
            j += 1
