"""``shimwright season``: which types, and how many, to hold so that a season's jobs stay within reach."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from optimiser.actions.job_places import job_name
from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import json_option, time_limit_option
from optimiser.cli.saying import say_json
from optimiser.cli.season_said import SeasonSaid
from optimiser.errors import InputError

if TYPE_CHECKING:
    from optimiser.files.catalogue import Offer
    from optimiser.jobs.job import Job
    from optimiser.jobs.season_ways import SeasonWays
    from optimiser.jobs.shift import Shift
    from optimiser.model.stock import ShimKey
    from optimiser.search import Control, Progress

INTERRUPTED: Final = 130

MOST_TIMES: Final = 1000
"""That a job comes in a season."""


@click.command("season")
@click.argument("folder", metavar="FOLDER_OR_LIST", type=click.Path(path_type=Path))
@click.option(
    "--catalogue", type=click.Path(path_type=Path), required=True, help="CSV file of what can be bought."
)
@click.option("--times", multiple=True, metavar="JOB=N", help="So often this job comes; repeat.")
@click.option(
    "--each",
    type=click.IntRange(1, MOST_TIMES),
    default=1,
    show_default=True,
    help="So often every other job comes.",
)
@click.option(
    "--spend",
    type=click.FloatRange(min=0),
    help="Show what to hold for at most this price; the dearest of the curve when left out.",
)
@time_limit_option
@shop_option
@json_option
def command(
    folder: Path,
    catalogue: Path,
    times: tuple[str, ...],
    each: int,
    spend: float | None,
    time_limit: float | None,
    shop: Path,
    as_json: bool,
) -> int:
    """Find what to buy so that the jobs of a folder stay within reach as they come back in a season.

    Instead of a folder of jobs, name a CSV file of dampers and the shifts of their bands: what is expected of
    the season. Each job is searched with the shelf alone and with all that the catalogue sells. Then, for
    every price, the purchase with which most of the season's jobs are served: what a job takes rides away
    with the damper. Nothing is reserved, bought or written. --time-limit counts for each job.

    Example: shimwright season jobs --catalogue catalogue.csv --each 4 --times a_more_support=10

    Example: shimwright season season.csv --catalogue catalogue.csv
    """
    from optimiser.cli.plans_command import job_files
    from optimiser.cli.watching import stoppable

    with stoppable("Reading the jobs") as (show, should_stop):
        from optimiser.allocation.season import HUNDREDTHS, PricedPack, SeasonJob, season_curve
        from optimiser.files.catalogue import read_catalogue
        from optimiser.files.job_reader import read_job
        from optimiser.files.shift_list import read_shifts
        from optimiser.search import Control

        offers = read_catalogue(catalogue)
        jobs: dict[str, Job | Shift]
        if folder.suffix.lower() == ".csv":
            shifts = read_shifts(folder)
            jobs = {one.name: one for one in shifts}
            often = {one.name: each if one.times is None else one.times for one in shifts}
        else:
            jobs = {path.stem: read_job(path) for path in job_files(folder)}
            often = dict.fromkeys(jobs, each)
        often |= dict(_times(text, jobs) for text in times)
        shelf = _free(shop, jobs)
        ways = _ways(jobs, shelf, offers, time_limit, Control(should_stop=should_stop), show)
        show("Weighing purchases")
        curve = season_curve(
            [
                SeasonJob(name=name, options=found.options, times=often[name])
                for name, found in ways.items()
                if found.counted
            ],
            shelf,
            [
                PricedPack(key=one.key, hundredths=round(HUNDREDTHS * cost), pieces=one.pack_size)
                for one in offers
                if (cost := one.cost(one.pack_size)) is not None
            ],
        )
        stopped = should_stop()
    said = SeasonSaid(curve, ways=ways, times=often, shelf=shelf, offers=offers, spend=spend)
    say_json(json.dumps(said.document(), ensure_ascii=False)) if as_json else said.print()
    return INTERRUPTED if stopped else 0


def _ways(
    jobs: Mapping[str, Job | Shift],
    shelf: Mapping[ShimKey, int],
    offers: tuple[Offer, ...],
    time_limit: float | None,
    control: Control[Progress],
    show: Callable[[str], None],
) -> dict[str, SeasonWays]:
    """The ways of every job; those that a stop left out are called not found in the time."""
    from dataclasses import replace

    from optimiser.jobs.job import Job, WorkOptions
    from optimiser.jobs.season_ways import SeasonFinding, SeasonWays, season_ways
    from optimiser.jobs.shift_ways import shift_ways

    sold = [one.key for one in offers if one.price is not None]
    found: dict[str, SeasonWays] = {}
    for name, job in jobs.items():
        if control.stop_requested():
            found[name] = SeasonWays((), SeasonFinding.NOT_IN_TIME)
            continue
        show(f"{len(found)} of {len(jobs)} jobs searched, now {name}. Ctrl-C stops and gives what stands")
        work = job.work if isinstance(job, Job) else WorkOptions()
        patience = replace(control, time_limit=work.patience(time_limit))
        if isinstance(job, Job):
            found[name] = season_ways(job, shelf=shelf, sold=sold, control=patience)
        else:
            found[name] = shift_ways(job, shelf=shelf, sold=sold, control=patience)
    return found


def _free(shop: Path, jobs: Mapping[str, Job | Shift]) -> dict[ShimKey, int]:
    """What is free: by the ledger where there is one, else by the shelf file that all jobs name.

    A list of shifts names none: then it is the shop's own ``shelf.csv``.
    """
    from optimiser.files.shelf import read_shelf
    from optimiser.jobs.job import Job
    from optimiser.ledger.connection import Ledger, ledger_in
    from optimiser.ledger.levels import shelf_levels

    if ledger_in(shop):
        with Ledger.open(shop) as ledger:
            return {level.key: level.free for level in shelf_levels(ledger)}
    shelves = {job.shelf: job.stock for job in jobs.values() if isinstance(job, Job)}
    if not shelves:
        return dict(read_shelf(shop / "shelf.csv").stock.counts)
    if len(shelves) > 1:
        raise InputError(
            f"got jobs of {len(shelves)} shelves ({', '.join(sorted(map(str, shelves)))}), expected one for "
            "all of them. Put the jobs of another shelf into a folder of their own."
        )
    return dict(next(iter(shelves.values())).counts)


def _times(text: str, jobs: Mapping[str, Job | Shift]) -> tuple[str, int]:
    name, _, count = text.rpartition("=")
    if name not in jobs and (name := job_name(name)) not in jobs:
        raise InputError(
            f"--times: got {text!r}, expected a job and a number, as 'my_job=4'. "
            f"The jobs are {', '.join(jobs)}."
        )
    if not (count.isascii() and count.isdecimal() and 1 <= int(count) <= MOST_TIMES):
        raise InputError(f"--times: got {text!r}, expected a whole number from 1 to {MOST_TIMES}.")
    return name, int(count)
