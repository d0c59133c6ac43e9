"""Purchases against every single type tried on its own, on dampers small enough to try every stack."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import combinations

import numpy as np
import pytest

from damping_model.stack.stack import Stack
from optimiser.model import rank
from optimiser.model.answer import Status
from optimiser.model.edits import difference, keys_of
from optimiser.model.goal import Goal
from optimiser.model.rules import rules_for, violations
from optimiser.model.stock import ShimKey, Stock
from optimiser.search import Control
from optimiser.studies.purchases import AtMostNewTypes, Shopping, Trust, to_buy
from optimiser.studies.shopping import shop
from tests.helpers import brute_force, toy
from tests.helpers.counts import some_of, thorough_only, tries

pytestmark = pytest.mark.usefixtures("few_drawn")


def job(seed: int, *, shims: int, on_shelf: int, sold: int) -> tuple[Stack, Stock, list[ShimKey], Goal]:
    """A random stack, a small shelf, a catalogue that overlaps with both, a goal of random size."""
    rng = np.random.default_rng(seed)
    while True:
        start = toy.random_stack(rng, shims)
        if not violations(rules_for(start, toy.MOUNTING), start, toy.MOUNTING):
            break
    physics = toy.ToyPhysics()
    before = physics.forces(physics.packed(start), 0)
    goal = toy.goal(
        physics,
        start,
        desired=before * (1 + rng.choice([-1, 1]) * rng.uniform(0.03, 0.10)),
        tolerance=np.full(before.size, rng.uniform(0.02, 0.06)),
        targets=int(rng.integers(1, 4)),
    )
    catalogue = toy.random_stock(rng, sold)
    return start, toy.random_stock(rng, on_shelf), sorted(catalogue.counts), goal


def tried(start: Stack, stock: Stock, goal: Goal, changes: int) -> list[tuple[int, float, Stack]]:
    """Every stack within a number of changes that meets the goal: changes, error on target, stack."""
    physics, rules, met = toy.ToyPhysics(), rules_for(start, toy.MOUNTING), []
    have = brute_force.at_hand(start, stock)
    for name in brute_force.within(start, stock, changes):
        if not brute_force.buildable(name, have, goal, toy.MOUNTING, rules):
            continue
        made = Stack(tuple(key.shim for key in name))
        count = difference(start, made).changes
        if count > changes:
            continue
        forces = physics.forces(physics.packed(made), 0)
        if rank.misfit(goal, forces) == 0:
            met.append((count, round(rank.target_error(goal, forces), 9), made))
    return met


def best_of_each(
    start: Stack, stock: Stock, sold: list[ShimKey], goal: Goal, changes: int, types: int
) -> dict[tuple[ShimKey, ...], tuple[int, float]]:
    """Every purchase of so many types tried on its own: the fewest changes, then the least error on target."""
    at_hand = brute_force.at_hand(start, stock)
    best: dict[tuple[ShimKey, ...], tuple[int, float]] = {}
    for bought in combinations(sold, types):
        counts = {**stock.counts, **{key: stock.count(key) + changes for key in bought}}
        for count, error, made in tried(start, Stock(counts), goal, changes):
            if tuple(to_buy(made, at_hand)) == bought:
                best[bought] = min(best.get(bought, (changes + 1, 0.0)), (count, error))
    return best


def asked(start: Stack, stock: Stock, sold: list[ShimKey], goal: Goal, **more: object) -> Shopping:
    return shop(toy.problem(toy.ToyPhysics(), start, stock, goal), sold=sold, **more)  # type: ignore[arg-type]


def agrees(seed: int, *, shims: int, on_shelf: int, sold_types: int, changes: int, types: int = 1) -> str:
    """The list against brute force; says how it came out."""
    start, stock, sold, goal = job(seed, shims=shims, on_shelf=on_shelf, sold=sold_types)
    answer = asked(start, stock, sold, goal, most_changes=changes, most_types=types, wanted=100)
    alone = min((count for count, _, _ in tried(start, stock, goal, changes)), default=changes + 1)
    if alone <= changes:
        assert answer.shelf.status is Status.PROVEN_LEAST
        assert len(answer.shelf.candidates[0].changes) == alone
    else:
        assert answer.shelf.status is Status.PROVEN_IMPOSSIBLE
    to_beat = alone
    for looked in answer.looked:
        worth = {
            bought: figures
            for bought, figures in best_of_each(start, stock, sold, goal, changes, looked.types).items()
            if figures[0] < to_beat
        }
        least = min((count for count, _ in worth.values()), default=None)
        expected = {bought: figures for bought, figures in worth.items() if figures[0] == least}
        listed = {
            one.types: (len(one.best.changes), round(one.best.target_error, 9)) for one in looked.purchases
        }
        assert looked.trust is Trust.PROVEN
        assert listed == expected
        assert list(listed.values()) == sorted(listed.values())
        assert looked.proven_too_few == (max(to_beat - 1, looked.types - 1) if least is None else least - 1)
        to_beat = min(to_beat, least or to_beat)
    assert (answer.outcome == "nothing needed") == (alone <= 1)
    if answer.outcome != "nothing needed":
        assert (answer.outcome == "buy") == bool(answer.purchases)
        assert len(answer.looked) == types
    return answer.outcome


def test_the_purchases_are_the_best_of_all_types_tried_one_at_a_time_and_none_helps_agrees() -> None:
    """40 random jobs, one change; 12 in a quick run."""
    outcomes = Counter(
        agrees(seed, shims=(4, 5, 6)[seed % 3], on_shelf=2, sold_types=5, changes=1)
        for seed in range(tries(quick=12, thorough=40))
    )
    assert min(outcomes[outcome] for outcome in ("nothing needed", "buy", "no purchase helps")) >= tries(
        quick=1, thorough=5
    ), outcomes


@pytest.mark.parametrize(
    ("seed", "alone", "one_type", "two_types"),
    [
        pytest.param(124, 2, 1, None, id="one type saves a change against the shelf"),
        pytest.param(
            126, 2, None, None, id="no type saves a change against the shelf", marks=thorough_only("alike")
        ),
        pytest.param(145, None, 2, None, id="one type makes it reachable", marks=thorough_only("alike")),
        pytest.param(129, None, None, 2, id="only two types together make it reachable"),
        pytest.param(
            130, None, None, None, id="no two types make it reachable", marks=thorough_only("alike")
        ),
    ],
)
def test_with_two_changes_every_pair_of_types_was_as_good_as_tried_on_its_own(
    seed: int, alone: int | None, one_type: int | None, two_types: int | None
) -> None:
    """Fewest changes by shelf, by one type, by two; None where there is no way."""
    agrees(seed, shims=4, on_shelf=2, sold_types=3, changes=2, types=2)
    start, stock, sold, goal = job(seed, shims=4, on_shelf=2, sold=3)
    answer = asked(start, stock, sold, goal, most_changes=2, most_types=2)
    fewest = [
        min((len(one.best.changes) for one in looked.purchases), default=None) for looked in answer.looked
    ]
    assert [min((len(one.changes) for one in answer.shelf.candidates), default=None), *fewest] == [
        alone,
        one_type,
        two_types,
    ]


def test_more_pieces_of_a_type_that_has_run_out_are_a_purchase_and_shims_at_hand_are_not() -> None:
    """What the damper holds counts as at hand."""
    start = toy.stack((20, 0.2), (18, 0.2), (18, 0.2), (9, 0.3))
    one, two = toy.key(18, 0.2), toy.key(16, 0.2)
    at_hand = Counter(keys_of(start)) + Counter({one: 1})
    more = toy.stack((20, 0.2), *[(18, 0.2)] * 4, (16, 0.2), (9, 0.3))
    assert to_buy(start, at_hand) == {}
    assert to_buy(more, at_hand) == {two: 1, one: 1}
    assert AtMostNewTypes(at_hand, most=2).violations(more, toy.MOUNTING) == ()
    assert AtMostNewTypes(at_hand, most=1).violations(more, toy.MOUNTING) == (
        "2 types would have to be bought (16x0.20, 18x0.20); at most 1 may be.",
    )


@cache
def helped() -> tuple[Stack, Stock, list[ShimKey], Goal]:
    """A job that a purchase makes reachable in one change."""
    for seed in range(60):
        start, stock, sold, goal = job(seed, shims=6, on_shelf=2, sold=4)
        if asked(start, stock, sold, goal, most_changes=1).outcome == "buy":
            return start, stock, sold, goal
    raise AssertionError("no such job among the seeds")


def test_a_time_limit_proves_nothing_and_never_says_that_no_purchase_helps() -> None:
    """No time at all."""
    start, stock, sold, goal = helped()
    answer = asked(start, stock, sold, goal, most_changes=2, control=Control(time_limit=0.0))
    assert answer.trust is Trust.BEST_SO_FAR
    assert answer.outcome == "nothing found"
    assert answer.looked[0].proven_too_few == 0


@pytest.mark.parametrize("share", some_of([0.0, 0.1, 0.3, 0.5, 0.7, 0.9], every=3))
def test_an_interruption_at_any_moment_gives_what_stands(share: float) -> None:
    """What is listed by then meets the goal, and is called interrupted."""
    start, stock, sold, goal = helped()
    moments: list[int] = []

    def noted() -> bool:
        moments.append(1)
        return False

    whole = asked(start, stock, sold, goal, most_changes=1, control=Control(should_stop=noted))
    moment, count = int(share * len(moments)), iter(range(10**6))
    answer = asked(
        start, stock, sold, goal, most_changes=1, control=Control(should_stop=lambda: next(count) >= moment)
    )
    assert whole.trust is Trust.PROVEN
    assert answer.trust is Trust.INTERRUPTED
    assert answer.outcome in {"buy", "nothing found"}
    assert all(one.best.misfit == 0 for one in answer.purchases)


def test_the_same_question_has_the_same_answer() -> None:
    """Byte for byte."""
    start, stock, sold, goal = helped()
    assert repr(asked(start, stock, sold, goal, most_changes=1)) == repr(
        asked(start, stock, sold, goal, most_changes=1)
    )


@thorough_only("a shelf of many types is searched")
def test_only_as_many_purchases_are_listed_as_are_wanted_and_they_are_the_closest() -> None:
    """The list is cut, not changed."""
    for seed in range(60):
        start, stock, sold, goal = job(seed, shims=6, on_shelf=2, sold=6)
        long = asked(start, stock, sold, goal, most_changes=1, wanted=100)
        if len(long.purchases) >= 3:
            short = asked(start, stock, sold, goal, most_changes=1, wanted=2)
            assert [one.types for one in short.purchases] == [one.types for one in long.purchases[:2]]
            return
    raise AssertionError("no job with three purchases among the seeds")
