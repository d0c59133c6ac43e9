"""One shelf for the jobs of a day: against every choice there is, and serving them one after another in any order."""

import random
from collections import Counter
from itertools import permutations, product

import pytest

from optimiser.allocation.day_choice import DayChoice, best_day
from optimiser.allocation.job_options import JobOption, JobOptions
from optimiser.model.stock import ShimKey
from tests.helpers.counts import tries

KEYS = [ShimKey(outer, thickness, 8000) for outer in (20000, 18000, 16000) for thickness in (100, 150)]
Shelf = dict[ShimKey, int]


def option(chance: random.Random, rank: int, most: int = 3) -> JobOption:
    taken = Counter(chance.choice(KEYS) for _ in range(chance.randint(0, most)))
    return JobOption(
        rank=rank, taken=dict(taken), changes=max(sum(taken.values()), 1), miss=chance.randint(0, 40) / 1000
    )


def job(chance: random.Random, number: int, options: int) -> JobOptions:
    found = tuple(option(chance, rank) for rank in range(1, chance.randint(0, options) + 1))
    return JobOptions(
        name=f"job {number}",
        options=found,
        order=chance.choice([0, 0, 1]),
        weight=chance.choice([1, 1, 2]),
        pinned=chance.choice([None, None, None, 1]),
    )


def day(seed: int, jobs: int, options: int) -> tuple[list[JobOptions], Shelf, Shelf]:
    chance = random.Random(seed)
    shelf = {key: chance.randint(0, 3) for key in KEYS}
    low_at = {key: 1 for key in KEYS if chance.random() < 0.5}
    return [job(chance, number, options) for number in range(jobs)], shelf, low_at


def used(chosen: dict[str, JobOption | None]) -> Counter[ShimKey]:
    return sum((Counter(one.taken) for one in chosen.values() if one is not None), Counter())


def cost(
    jobs: list[JobOptions], chosen: dict[str, JobOption | None], shelf: Shelf, low_at: Shelf
) -> tuple[int, ...]:
    """What is to be small, the first first: written apart from the solver."""
    orders = sorted({one.order for one in jobs})
    served = [-sum(one.weight for one in jobs if one.order == order and chosen[one.name]) for order in orders]
    taken = [one for one in chosen.values() if one is not None]
    after = used(chosen)
    lows = sum(shelf[key] > low_at[key] >= shelf[key] - after[key] for key in low_at if after[key])
    return (
        *served,
        sum(one.changes for one in taken),
        sum(round(1e6 * one.miss) for one in taken),
        lows,
    )


def fits(chosen: dict[str, JobOption | None], shelf: Shelf) -> bool:
    return all(count <= shelf.get(key, 0) for key, count in used(chosen).items())


def every_choice(jobs: list[JobOptions]) -> list[dict[str, JobOption | None]]:
    ways = product(*([None, *one.open] for one in jobs))
    return [dict(zip([one.name for one in jobs], way, strict=True)) for way in ways]


def test_no_other_choice_of_a_small_day_is_better() -> None:
    for seed in range(tries(quick=15, thorough=100)):
        jobs, shelf, low_at = day(seed, jobs=4, options=4)
        found = best_day(jobs, shelf, low_at=low_at)
        assert found.proven
        best = min(cost(jobs, way, shelf, low_at) for way in every_choice(jobs) if fits(way, shelf))
        assert cost(jobs, dict(found.chosen), shelf, low_at) == best


def one_after_another(jobs: tuple[JobOptions, ...], shelf: Shelf) -> dict[str, JobOption | None]:
    """Serve each job with the first of its candidates that is left, as two people at a counter would."""
    left, chosen = Counter(shelf), {}
    for one in jobs:
        ways = [way for way in one.open if not Counter(way.taken) - left]
        chosen[one.name] = ways[0] if ways else None
        if ways:
            left.subtract(ways[0].taken)
    return chosen


def test_a_day_of_up_to_twenty_jobs_is_never_worse_than_serving_them_one_after_another() -> None:
    for seed in range(tries(quick=10, thorough=100)):
        jobs, shelf, low_at = day(1000 + seed, jobs=3 + seed % 18, options=5)
        found = best_day(jobs, shelf, low_at=low_at)
        assert fits(dict(found.chosen), shelf)
        mine = cost(jobs, dict(found.chosen), shelf, low_at)
        orders = (
            permutations(jobs)
            if len(jobs) < 5
            else [random.Random(n).sample(jobs, len(jobs)) for n in range(20)]
        )
        assert all(
            mine <= cost(jobs, one_after_another(tuple(order), shelf), shelf, low_at) for order in orders
        )


def test_a_day_of_twenty_jobs_with_ten_candidates_each_is_proven() -> None:
    chance = random.Random(3)
    jobs = [
        JobOptions(name=f"job {number}", options=tuple(option(chance, rank) for rank in range(1, 11)))
        for number in range(20)
    ]
    found = best_day(jobs, dict.fromkeys(KEYS, 4), low_at=dict.fromkeys(KEYS, 1))
    assert found.proven
    assert fits(dict(found.chosen), dict.fromkeys(KEYS, 4))


def test_the_last_shim_goes_to_the_job_whose_turn_it_is() -> None:
    only = JobOption(rank=1, taken={KEYS[0]: 1}, changes=1, miss=0.0)
    today, later = (
        JobOptions(name=name, options=(only,), order=order) for name, order in (("today", 0), ("later", 1))
    )
    assert best_day([later, today], {KEYS[0]: 1}).served == ("today",)


def test_a_job_gives_way_to_its_second_choice_so_that_both_are_served() -> None:
    first = JobOption(rank=1, taken={KEYS[0]: 1}, changes=1, miss=0.0)
    second = JobOption(rank=2, taken={KEYS[1]: 2}, changes=2, miss=0.01)
    found = best_day(
        [JobOptions(name="a", options=(first, second)), JobOptions(name="b", options=(first,))],
        {KEYS[0]: 1, KEYS[1]: 2},
    )
    assert found == DayChoice({"a": second, "b": first}, proven=True)


def test_a_pinned_candidate_is_taken_or_none() -> None:
    first = JobOption(rank=1, taken={}, changes=1, miss=0.0)
    second = JobOption(rank=2, taken={KEYS[0]: 1}, changes=1, miss=0.0)
    pinned = JobOptions(name="a", options=(first, second), pinned=2)
    assert best_day([pinned], {KEYS[0]: 1}).chosen == {"a": second}
    assert best_day([pinned], {}).chosen == {"a": None}


@pytest.mark.parametrize("jobs", [[], [JobOptions(name="a", options=())]])
def test_a_day_without_candidates_serves_nobody(jobs: list[JobOptions]) -> None:
    found = best_day(jobs, {})
    assert found.served == ()
    assert found.proven
