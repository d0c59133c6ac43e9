"""Shims that a micrometer read, in a day of many jobs: none goes to two, against every choice there is."""

import random
from collections import Counter

from optimiser.allocation.day_choice import DayChoice, best_day
from optimiser.allocation.job_options import JobOption, JobOptions
from optimiser.allocation.purchase import PackOffer, smallest_purchase
from optimiser.model.stock import ShimKey
from tests.helpers.counts import tries
from tests.optimiser.allocation.test_day_choice import KEYS, Shelf, cost, every_choice, fits

FEW = KEYS[:2]
Read = dict[ShimKey, tuple[int, ...]]
Named = Counter[tuple[ShimKey, int]]


def option(chance: random.Random, rank: int) -> JobOption:
    exact = chance.random() < 0.5
    taken = Counter(chance.choice(FEW) for _ in range(chance.randint(1, 2)))
    readings = {}
    for key, count in taken.items():
        named = [key.thickness + chance.choice([-1, 1]) for _ in range(count) if chance.random() < 0.7]
        if named:
            readings[key] = tuple(sorted(named))
    return JobOption(
        rank=rank,
        taken=dict(taken),
        changes=sum(taken.values()),
        miss=chance.randint(0, 3) / 1000,
        readings=readings,
        exact=exact,
    )


def day(seed: int) -> tuple[list[JobOptions], Shelf, Read]:
    chance = random.Random(seed)
    shelf = {key: chance.randint(1, 3) for key in FEW}
    read = {
        key: tuple(sorted(key.thickness + chance.choice([-1, 1]) for _ in range(chance.randint(0, count))))
        for key, count in shelf.items()
    }
    jobs = [
        JobOptions(
            name=f"job {number}",
            options=tuple(option(chance, rank) for rank in range(1, chance.randint(1, 3) + 1)),
        )
        for number in range(4)
    ]
    return jobs, shelf, {key: own for key, own in read.items() if own}


def named(one: JobOption) -> Named:
    return Counter((key, reading) for key, own in one.readings.items() for reading in own)


def there(read: Read) -> Named:
    return Counter((key, reading) for key, own in read.items() for reading in own)


def given_at_most(chosen: dict[str, JobOption | None], shelf: Shelf, read: Read) -> int | None:
    """Most shims that plans name and get; None where a plan with what shims measure lacks one of its own."""
    built = [one for one in chosen.values() if one is not None]
    exact = sum((named(one) for one in built if one.exact), Counter())
    rest = Counter[ShimKey]()
    for one in built:
        if one.exact:
            rest.update({key: count - len(one.readings.get(key, ())) for key, count in one.taken.items()})
    if exact - there(read) or any(count > shelf[key] - len(read.get(key, ())) for key, count in rest.items()):
        return None
    return (sum((named(one) for one in built), Counter()) & there(read)).total()


def given(found: DayChoice) -> dict[str, Named]:
    return {
        name: Counter((key, reading) for key, own in readings.items() for reading in own)
        for name, readings in found.readings.items()
    }


def test_no_other_choice_of_a_small_day_with_measured_shims_is_better() -> None:
    shared = 0
    for seed in range(tries(quick=25, thorough=100)):
        jobs, shelf, read = day(seed)
        found = best_day(jobs, shelf, readings=read)
        assert found.proven
        ranked = []
        for way in every_choice(jobs):
            most = given_at_most(way, shelf, read) if fits(way, shelf) else None
            if most is not None:
                ranked.append((*cost(jobs, way, shelf, {}), -most))
        number = sum((one for one in given(found).values()), Counter()).total()
        assert (*cost(jobs, dict(found.chosen), shelf, {}), -number) == min(ranked)
        shared += number
    assert shared > 15


def test_no_measured_shim_is_given_twice_and_none_that_a_plan_does_not_name() -> None:
    for seed in range(tries(quick=25, thorough=100)):
        jobs, shelf, read = day(seed)
        found = best_day(jobs, shelf, readings=read)
        assert not sum(given(found).values(), Counter()) - there(read)
        for name, one in found.chosen.items():
            own = given(found).get(name, Counter())
            assert not own - (Counter() if one is None else named(one))
            if one is not None and one.exact:
                assert own == named(one)


def test_what_is_bought_was_not_read_and_serves_whoever_needs_no_reading() -> None:
    key = FEW[0]
    common = {"taken": {key: 1}, "changes": 1, "miss": 0.0, "exact": True}
    reads = JobOption(rank=1, readings={key: (99,)}, **common)  # type: ignore[arg-type]
    plain = JobOption(rank=1, **common)  # type: ignore[arg-type]
    offers = [PackOffer(key=key, price=1.0, pieces=2)]
    one_reads = [JobOptions(name="one", options=(reads,)), JobOptions(name="two", options=(plain,))]
    found = smallest_purchase(one_reads, {key: 1}, offers, readings={key: (99,)})
    assert found is not None
    assert (found.packs, found.day.readings) == ({key: 1}, {"one": {key: (99,)}})
    both = [JobOptions(name=name, options=(reads,)) for name in ("one", "two")]
    assert smallest_purchase(both, {key: 1}, offers, readings={key: (99,)}) is None
