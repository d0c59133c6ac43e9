"""The smallest purchase that serves a day: against every purchase there is."""

import random
from collections import Counter
from itertools import product

from optimiser.allocation.day_choice import best_day
from optimiser.allocation.job_options import JobOption, JobOptions
from optimiser.allocation.purchase import DayPurchase, PackOffer, smallest_purchase
from optimiser.model.stock import ShimKey
from tests.helpers.counts import tries
from tests.optimiser.allocation.test_day_choice import KEYS, Shelf, every_choice, fits

FEW = KEYS[:4]


def case(seed: int) -> tuple[list[JobOptions], Shelf, list[PackOffer]]:
    chance = random.Random(seed)
    jobs = []
    for number in range(3):
        options = tuple(
            JobOption(
                rank=rank,
                taken=dict(Counter(chance.choice(FEW) for _ in range(chance.randint(1, 2)))),
                changes=chance.randint(1, 2),
                miss=0.0,
            )
            for rank in range(1, chance.randint(1, 3) + 1)
        )
        jobs.append(JobOptions(name=f"job {number}", options=options))
    shelf = {key: chance.randint(0, 1) for key in FEW}
    offers = [
        PackOffer(
            key=key,
            price=chance.choice([None, 1.5, 2.0, 3.25]),
            pieces=chance.randint(1, 2),
            days=chance.randint(0, 3),
        )
        for key in FEW
        if chance.random() < 0.8
    ]
    return jobs, shelf, offers


def size(packs: dict[ShimKey, int], offers: list[PackOffer]) -> tuple[int, int, int, int]:
    bought = [(offer, packs.get(offer.key, 0)) for offer in offers]
    return (
        sum(count for offer, count in bought if offer.price is None),
        sum(round(100 * offer.price) * count for offer, count in bought if offer.price is not None),
        sum(count for _, count in bought),
        max((offer.days for offer, count in bought if count), default=0),
    )


def serves_all(
    jobs: list[JobOptions], shelf: Shelf, packs: dict[ShimKey, int], offers: list[PackOffer]
) -> bool:
    more = Counter(shelf)
    for offer in offers:
        more[offer.key] += packs.get(offer.key, 0) * offer.pieces
    return any(all(way.values()) and fits(way, dict(more)) for way in every_choice(jobs))


def smallest(jobs: list[JobOptions], shelf: Shelf, offers: list[PackOffer]) -> tuple[int, ...] | None:
    ways = product(range(7), repeat=len(offers))
    amounts = (dict(zip([offer.key for offer in offers], way, strict=True)) for way in ways)
    return min((size(one, offers) for one in amounts if serves_all(jobs, shelf, one, offers)), default=None)


def bought(seed: int) -> tuple[list[JobOptions], Shelf, list[PackOffer], DayPurchase | None]:
    jobs, shelf, offers = case(seed)
    return jobs, shelf, offers, smallest_purchase(jobs, shelf, offers)


def test_no_other_purchase_that_serves_all_is_smaller() -> None:
    for seed in range(tries(quick=6, thorough=50)):
        jobs, shelf, offers, found = bought(seed)
        expected = smallest(jobs, shelf, offers)
        assert (None if found is None else size(dict(found.packs), offers)) == expected


def test_with_one_pack_fewer_the_day_fails_and_with_all_it_does_not() -> None:
    seen = 0
    for seed in range(tries(quick=20, thorough=50)):
        jobs, shelf, offers, found = bought(seed)
        if found is None:
            continue
        assert serves_all(jobs, shelf, dict(found.packs), offers)
        assert set(found.day.served) == {one.name for one in jobs}
        for key in found.packs:
            fewer = dict(found.packs) | {key: found.packs[key] - 1}
            assert not serves_all(jobs, shelf, fewer, offers)
            seen += 1
    assert seen > 5


def test_what_the_shelf_serves_by_itself_needs_nothing_bought() -> None:
    jobs, _, offers = case(1)
    plenty = dict.fromkeys(FEW, 9)
    found = smallest_purchase(jobs, plenty, offers)
    assert found is not None
    assert (found.packs, found.price, found.days) == ({}, 0, 0)
    assert best_day(jobs, plenty).served == found.day.served
