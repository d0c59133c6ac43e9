"""What a change is: checked against the longest common subsequence, and by doing it."""

from __future__ import annotations

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.model.answer import Change
from optimiser.model.edits import changes_between, difference, keys_of, rebuilt
from optimiser.model.stock import ShimKey


def key(outer: float, thickness: float = 0.2) -> ShimKey:
    return ShimKey.from_millimetres(outer=outer, thickness=thickness, inner=8)


def stack(*sizes: tuple[float, float]) -> Stack:
    return Stack(tuple(key(*size).shim for size in sizes))


def longest_common(one: tuple[ShimKey, ...], two: tuple[ShimKey, ...]) -> int:
    table = np.zeros((len(one) + 1, len(two) + 1), dtype=int)
    for i, a in enumerate(one):
        for j, b in enumerate(two):
            table[i + 1, j + 1] = table[i, j] + 1 if a == b else max(table[i, j + 1], table[i + 1, j])
    return int(table[-1, -1])


def random_pair(rng: np.random.Generator) -> tuple[Stack, Stack]:
    """Two small stacks of few types."""
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
    return one, two


def test_as_many_shims_stay_as_keep_their_order() -> None:
    """300 random pairs of small stacks against the longest common subsequence."""
    rng = np.random.default_rng(5)
    for _ in range(300):
        one, two = random_pair(rng)
        kept = longest_common(keys_of(one), keys_of(two))
        found = difference(one, two)
        assert found.changes == max(len(one.shims), len(two.shims)) - kept
        assert len(one.shims) - len(found.out) == len(two.shims) - len(found.put_in) == kept


def test_changes_done_by_hand_on_the_old_stack_give_the_new_one_order_included() -> None:
    """300 random pairs."""
    rng = np.random.default_rng(6)
    for _ in range(300):
        one, two = random_pair(rng)
        assert rebuilt(one, changes_between(one, two)) == two


def test_changes_that_cannot_be_done_lead_nowhere() -> None:
    """No such shim at that place; no such place."""
    old = stack((20, 0.1), (18, 0.1))
    assert rebuilt(old, [Change(key(18, 0.1), None, 0, None)]) is None
    assert rebuilt(old, [Change(key(18, 0.1), None, 2, None)]) is None
    assert rebuilt(old, [Change(None, key(18, 0.1), None, 3)]) is None


def test_a_shim_that_goes_to_another_place_of_its_pack_is_one_change() -> None:
    """Order counts in steel where thicknesses differ."""
    (change,) = changes_between(
        stack((20, 0.1), (20, 0.2), (18, 0.1)), stack((20, 0.2), (20, 0.1), (18, 0.1))
    )
    assert change.out == change.put_in


def test_a_ring_stays_with_what_centres_it_and_others_go_round_them() -> None:
    """Three shims from one side of it to the other are three changes, although moving the ring would be two."""
    ring, centre = ShimKey.from_millimetres(outer=20, thickness=0.3, inner=15), key(14)
    moved = [key(19), key(18), key(17)]
    old = Stack(tuple(k.shim for k in (key(20), *moved, ring, centre, key(20), key(9))))
    new = Stack(tuple(k.shim for k in (key(20), ring, centre, *moved, key(20), key(9))))
    assert difference(old, new).changes == 3


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
