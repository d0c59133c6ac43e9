"""What a change is: checked against every order that the packs could have had."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby, permutations, product

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.model.edits import changes_between, difference, keys_of
from optimiser.model.stock import ShimKey


def key(outer: float, thickness: float = 0.2) -> ShimKey:
    return ShimKey.from_millimetres(outer=outer, thickness=thickness, inner=8)


def stack(*sizes: tuple[float, float]) -> Stack:
    return Stack(tuple(key(*size).shim for size in sizes))


def orders(keys: tuple[ShimKey, ...]) -> Iterator[tuple[ShimKey, ...]]:
    packs = [list(group) for _, group in groupby(keys, key=lambda k: k.outer)]
    for choice in product(*(sorted(set(permutations(pack))) for pack in packs)):
        yield tuple(k for pack in choice for k in pack)


def longest_common(one: tuple[ShimKey, ...], two: tuple[ShimKey, ...]) -> int:
    table = np.zeros((len(one) + 1, len(two) + 1), dtype=int)
    for i, a in enumerate(one):
        for j, b in enumerate(two):
            table[i + 1, j + 1] = table[i, j] + 1 if a == b else max(table[i, j + 1], table[i + 1, j])
    return int(table[-1, -1])


def test_as_many_shims_stay_as_the_best_order_inside_the_packs_allows() -> None:
    """300 random pairs of small stacks against the longest common subsequence over every order in every pack."""
    rng = np.random.default_rng(5)
    for _ in range(300):
        one, two = (
            stack(
                *zip(
                    rng.choice([16, 18, 20], size=n).tolist(),
                    rng.choice([0.1, 0.15], size=n).tolist(),
                    strict=True,
                )
            )
            for n in rng.integers(1, 6, size=2)
        )
        kept = max(longest_common(a, b) for a in orders(keys_of(one)) for b in orders(keys_of(two)))
        found = difference(one, two)
        assert found.changes == max(len(one.shims), len(two.shims)) - kept
        assert len(one.shims) - len(found.out) == len(two.shims) - len(found.put_in) == kept


def test_the_order_inside_a_pack_is_no_change() -> None:
    """The stack is apart anyway."""
    assert (
        changes_between(stack((20, 0.1), (20, 0.2), (18, 0.1)), stack((20, 0.2), (20, 0.1), (18, 0.1))) == ()
    )


def test_one_out_and_one_in_are_one_change() -> None:
    """A swap names both shims and both places."""
    (change,) = changes_between(stack((20, 0.2), (18, 0.2), (9, 0.3)), stack((20, 0.2), (18, 0.1), (9, 0.3)))
    assert (change.out, change.put_in, change.out_after, change.in_after) == (
        key(18, 0.2),
        key(18, 0.1),
        1,
        1,
    )


def test_a_shim_moved_from_one_stage_to_another_is_one_change() -> None:
    """Out here and in there."""
    old = stack((20, 0.2), (18, 0.1), (14, 0.1), (20, 0.1), (9, 0.3))
    new = stack((20, 0.2), (14, 0.1), (20, 0.1), (18, 0.1), (9, 0.3))
    (change,) = changes_between(old, new)
    assert change.out == change.put_in == key(18, 0.1)


@pytest.mark.parametrize(("more", "less"), [(2, 0), (0, 3)])
def test_shims_that_only_come_or_only_go_count_one_each(more: int, less: int) -> None:
    """Nothing to pair them with."""
    middle = [(18.0, 0.2)] * 4
    old, new = stack((20, 0.2), *middle), stack((20, 0.2), *middle[less:], *[(16.0, 0.1)] * more)
    assert difference(old, new).changes == max(more, less)
    assert len(changes_between(old, new)) == max(more, less)
