"""A season's drawer: the whole curve of coverage against price, against every purchase and every choice."""

import random
from collections import Counter
from itertools import product

from optimiser.allocation.job_options import JobOption
from optimiser.allocation.season import PricedPack, SeasonCurve, SeasonJob, season_curve
from optimiser.model.stock import ShimKey
from tests.helpers.counts import tries
from tests.optimiser.allocation.test_day_choice import KEYS, Shelf

FEW = KEYS[:3]
MOST_PACKS = 5

Case = tuple[list[SeasonJob], Shelf, list[PricedPack]]


def case(seed: int) -> Case:
    chance = random.Random(seed)
    jobs = []
    for number in range(3):
        options = tuple(
            JobOption(
                rank=rank,
                taken=dict(Counter(chance.choice(FEW) for _ in range(chance.randint(0, 2)))),
                changes=chance.randint(1, 2),
                miss=chance.randint(0, 40) / 1000,
            )
            for rank in range(1, chance.randint(0, 3) + 1)
        )
        jobs.append(SeasonJob(name=f"job {number}", options=options, times=chance.randint(1, 2)))
    shelf = {key: chance.randint(0, 1) for key in FEW}
    sold = [
        PricedPack(key=key, hundredths=chance.choice([0, 150, 200, 325]), pieces=chance.randint(1, 3))
        for key in FEW
        if chance.random() < 0.8
    ]
    return jobs, shelf, sold


def every_season(jobs: list[SeasonJob]) -> list[tuple[int, Counter[ShimKey]]]:
    """For every choice of what is built how often: how many jobs are served, and what they take."""
    ways = []
    for one in jobs:
        counts = product(range(one.times + 1), repeat=len(one.options))
        ways.append([way for way in counts if sum(way) <= one.times])
    found = []
    for season in product(*ways):
        taken = Counter[ShimKey]()
        for one, way in zip(jobs, season, strict=True):
            for option, count in zip(one.options, way, strict=True):
                taken.update({key: each * count for key, each in option.taken.items()})
        found.append((sum(map(sum, season)), taken))
    return found


def best_curve(jobs: list[SeasonJob], shelf: Shelf, sold: list[PricedPack]) -> list[tuple[int, int]]:
    """Price and jobs served of all purchases that no other beats: written apart from the solver."""
    seasons = every_season(jobs)
    most: dict[int, int] = {}
    for packs in product(range(MOST_PACKS + 1), repeat=len(sold)):
        there = Counter(shelf)
        there.update({one.key: one.pieces * count for one, count in zip(sold, packs, strict=True)})
        price = sum(one.hundredths * count for one, count in zip(sold, packs, strict=True))
        served = max(
            number
            for number, taken in seasons
            if all(count <= there.get(key, 0) for key, count in taken.items())
        )
        most[price] = max(served, most.get(price, 0))
    curve: list[tuple[int, int]] = []
    for price in sorted(most):
        if not curve or most[price] > curve[-1][1]:
            curve.append((price, most[price]))
    return curve


def found(seed: int) -> tuple[Case, SeasonCurve]:
    jobs, shelf, sold = case(seed)
    return (jobs, shelf, sold), season_curve(jobs, shelf, sold)


def test_the_curve_is_that_of_all_purchases_and_all_choices() -> None:
    steps = 0
    for seed in range(tries(quick=30, thorough=50)):
        (jobs, shelf, sold), curve = found(seed)
        assert curve.proven
        assert [(one.hundredths, one.served) for one in curve.points] == best_curve(jobs, shelf, sold)
        steps += len(curve.points) - 1
    assert steps > 5


def test_no_count_is_below_zero_and_no_job_is_served_more_often_than_it_comes() -> None:
    for seed in range(tries(quick=30, thorough=50)):
        (jobs, shelf, sold), curve = found(seed)
        pieces = {one.key: one.pieces for one in sold}
        assert curve.asked == sum(one.times for one in jobs)
        for point in curve.points:
            assert all(count > 0 for count in point.packs.values())
            for key, count in point.used.items():
                assert shelf.get(key, 0) + point.packs.get(key, 0) * pieces.get(key, 0) >= count
            for one in jobs:
                assert len(point.chosen[one.name]) <= one.times
                assert set(map(id, point.chosen[one.name])) <= set(map(id, one.options))


def test_with_one_pack_fewer_a_point_serves_fewer() -> None:
    seen = 0
    for seed in range(tries(quick=30, thorough=50)):
        (jobs, shelf, sold), curve = found(seed)
        pieces = {one.key: one.pieces for one in sold}
        for point in curve.points:
            for key, packs in point.packs.items():
                fewer = Counter(shelf)
                fewer.update({one: pieces[one] * count for one, count in point.packs.items()})
                fewer[key] -= pieces[key]
                served = season_curve(jobs, dict(fewer), []).points[0].served
                assert served < point.served
                assert packs > 0
                seen += 1
    assert seen > 5


def test_a_season_that_no_stack_serves_has_one_point_and_says_so() -> None:
    curve = season_curve([SeasonJob(name="job", options=(), times=3)], {}, [])
    assert [(one.price, one.served) for one in curve.points] == [(0.0, 0)]
    assert (curve.asked, curve.proven) == (3, True)


def test_a_job_that_comes_ten_times_takes_its_shims_ten_times() -> None:
    key = FEW[0]
    once = JobOption(rank=1, taken={key: 2}, changes=2, miss=0.0)
    sold = [PricedPack(key=key, hundredths=700, pieces=5)]
    curve = season_curve([SeasonJob(name="job", options=(once,), times=10)], {key: 3}, sold)
    assert [(one.price, one.served) for one in curve.points] == [
        (0.0, 1), (7.0, 4), (14.0, 6), (21.0, 9), (28.0, 10)
    ]  # fmt: skip
