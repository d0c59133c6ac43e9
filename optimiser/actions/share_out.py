"""One shelf for the planned jobs of a day: shared out, and reserved in one transaction."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from optimiser.actions.plan_to_build import plan_to_build
from optimiser.allocation.day_choice import SECONDS, DayChoice, best_day
from optimiser.allocation.job_options import JobOption, JobOptions
from optimiser.allocation.purchase import DayPurchase, PackOffer, smallest_purchase
from optimiser.documents.plan import PlanDocument
from optimiser.files.catalogue import Offer
from optimiser.files.job_reader import read_job
from optimiser.ledger.build_rows import Build, PlannedBuild
from optimiser.ledger.builds import keep_sheet, reserve_day
from optimiser.ledger.connection import Ledger
from optimiser.ledger.job_record import job_record
from optimiser.ledger.jobs import record_job
from optimiser.ledger.levels import shelf_levels
from optimiser.ledger.planned import planned_build
from optimiser.model.stock import ShimKey

PlannedJobs = Mapping[str, tuple[Path, PlanDocument]]
"""The file and the plan of each job, by its name."""


@dataclass(frozen=True, slots=True)
class SharedShelf:
    """What the jobs of a day get.

    Parameters
    ----------
    jobs : with what may be built for each.
    day : what each gets.
    shelf : what was free.
    offers : what can be bought.
    bought : the smallest purchase that serves all jobs; None where none was asked for, is needed, or does.
    """

    jobs: Sequence[JobOptions]
    day: DayChoice
    shelf: Mapping[ShimKey, int]
    offers: Sequence[Offer]
    bought: DayPurchase | None


def share_shelf(
    ledger: Ledger, jobs: Sequence[JobOptions], *, offers: Sequence[Offer] = (), seconds: float = SECONDS
) -> SharedShelf:
    """Share what is free among the jobs of a day.

    Parameters
    ----------
    ledger : the shop's ledger.
    jobs : with what may be built for each.
    offers : what can be bought, where jobs are left over.
    seconds : for each objective. [s]
    """
    levels = shelf_levels(ledger)
    shelf = {level.key: level.free for level in levels}
    low_at = {level.key: level.low_at for level in levels if level.low_at is not None}
    readings = {level.key: level.readings for level in levels if level.readings}
    day = best_day(jobs, shelf, low_at=low_at, readings=readings, seconds=seconds)
    bought = None
    if offers and len(day.served) < sum(bool(job.open) for job in jobs):
        packs = [
            PackOffer(
                key=one.key,
                price=one.cost(one.pack_size),
                pieces=one.pack_size,
                days=one.delivery_days or 0,
            )
            for one in offers
        ]
        bought = smallest_purchase(jobs, shelf, packs, readings=readings, seconds=seconds)
    return SharedShelf(jobs, day, shelf, offers, bought)


def reserve_shared(
    ledger: Ledger,
    plans: PlannedJobs,
    day: DayChoice,
    *,
    sheet_of: Callable[[str, int], str] | None = None,
) -> tuple[Build, ...]:
    """Reserve what every served job gets: all of it, or nothing.

    Parameters
    ----------
    ledger : the shop's ledger.
    plans : of the jobs.
    day : what each gets.
    sheet_of : the sheet of a job's candidate, which the books then keep; None where it is written later.

    Raises
    ------
    LedgerError
        When shims are gone, another build stands, or a damper is no longer as its plan saw it.
    """

    def one(name: str, option: JobOption) -> PlannedBuild:
        path, plan = plans[name]
        numbers = record_job(ledger, job_record(read_job(path)))
        build = planned_build(plan_to_build(plan), pick=option.rank, numbers=numbers)
        return build if option.exact else replace(build, readings=day.readings.get(name, {}))

    chosen = {name: option for name, option in day.chosen.items() if option is not None}
    with ledger.atomic():
        builds = reserve_day(ledger, [partial(one, name, option) for name, option in chosen.items()])
        for build, (name, option) in zip(builds, chosen.items(), strict=True):
            if sheet_of is not None:
                keep_sheet(ledger, build.number, sheet_of(name, option.rank))
    return builds
