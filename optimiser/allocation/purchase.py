"""The smallest purchase with which one shelf serves all jobs of a day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from optimiser.allocation.day_choice import SECONDS, DayChoice
from optimiser.allocation.job_options import JobOptions, Readings, choices, chosen_of, sum_of, used_of
from optimiser.allocation.single_shims import no_single_shim_twice
from optimiser.allocation.solver import least_in_turn
from optimiser.model.stock import ShimKey

HUNDREDTHS: Final = 100
"""Prices are whole hundredths of the shop's currency."""

MOST_PACKS: Final = 100
"""Of one type."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PackOffer:
    """A type that can be bought.

    Parameters
    ----------
    key : the type.
    price : of one pack, in the shop's currency; None when it is not known, and then bought last.
    pieces : in a pack.
    days : until it is there; 0 when not known.
    """

    key: ShimKey
    price: float | None
    pieces: int
    days: int = 0


@dataclass(frozen=True, slots=True)
class DayPurchase:
    """What to buy, and the day with it.

    Parameters
    ----------
    packs : of each type.
    price : of all whose price is known.
    days : until the last of it is there.
    day : what each job then gets.
    proven : whether no smaller purchase serves all jobs.
    """

    packs: Mapping[ShimKey, int]
    price: float
    days: int
    day: DayChoice
    proven: bool


def smallest_purchase(
    jobs: Sequence[JobOptions],
    shelf: Mapping[ShimKey, int],
    offers: Sequence[PackOffer],
    *,
    readings: Readings | None = None,
    seconds: float = SECONDS,
) -> DayPurchase | None:
    """The smallest purchase with which every job that has a candidate gets one; None when none does.

    Fewest packs without a known price, then the least price, then fewest packs, then the shortest delivery,
    then fewest shims changed.

    Parameters
    ----------
    jobs : of the day.
    shelf : what is free.
    offers : what can be bought, one a type.
    readings : what single shims of what is free measure; those that are bought are not read.
    seconds : for each of those objectives. [s]
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    wanted = [job for job in jobs if job.open]
    takes = choices(model, wanted)
    for job in wanted:
        model.add_exactly_one(take for owner, _, take in takes if owner is job)
    of_key = {offer.key: offer for offer in offers}
    packs: dict[ShimKey, cp_model.IntVar] = {}
    for key, used in used_of(takes).items():
        terms = [(take, count) for take, count in used]
        offer = of_key.get(key)
        if offer is not None:
            packs[key] = model.new_int_var(0, MOST_PACKS, f"packs of {key}")
            terms.append((packs[key], -offer.pieces))
        model.add(sum_of(terms) <= shelf.get(key, 0))
    pieces = {key: (count, of_key[key].pieces) for key, count in packs.items()}
    singles = no_single_shim_twice(model, takes, shelf, readings or {}, bought=pieces)
    bought = [*packs]
    counts = [packs[key] for key in bought]
    latest = model.new_int_var(0, max((of_key[key].days for key in bought), default=0), "days")
    for key in bought:
        some = model.new_bool_var(f"some {key}")
        model.add(packs[key] == 0).only_enforce_if(some.negated())
        model.add(latest >= of_key[key].days).only_enforce_if(some)
    prices = [of_key[key].price for key in bought]

    def total(weights: Sequence[int]) -> cp_model.LinearExpr:
        return cp_model.LinearExpr.weighted_sum(counts, weights)

    every = [take for _, _, take in takes]
    objectives = [
        total([int(price is None) for price in prices]),
        total([0 if price is None else round(HUNDREDTHS * price) for price in prices]),
        total([1] * len(bought)),
        latest,
        cp_model.LinearExpr.weighted_sum(every, [option.changes for _, option, _ in takes]),
    ]
    settled = least_in_turn(model, objectives, seconds=seconds)
    if settled.solver is None:
        return None
    solver, chosen = settled.solver, chosen_of(jobs, takes, settled)
    amounts = {key: solver.value(packs[key]) for key in bought if solver.value(packs[key])}
    return DayPurchase(
        packs=amounts,
        price=sum(count * (of_key[key].price or 0.0) for key, count in amounts.items()),
        days=solver.value(latest),
        day=DayChoice(chosen, settled.proven, singles.of_jobs(settled)),
        proven=settled.proven,
    )
