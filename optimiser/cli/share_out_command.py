"""``shimwright share-out``: one shelf for the jobs of a day."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.actions.job_places import job_name
from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say_json
from optimiser.cli.share_out_said import SharedOut
from optimiser.errors import InputError

if TYPE_CHECKING:
    from optimiser.allocation.job_options import JobOptions
    from optimiser.documents.plan import PlanDocument


@click.command("share-out")
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--pin", "pins", multiple=True, metavar="JOB=N", help="This candidate or none; repeat.")
@click.option("--first", multiple=True, metavar="JOB", help="Serve it before the others; repeat, in order.")
@click.option("--due", multiple=True, metavar="JOB=DATE", help="Sooner before later, as 2026-12-01; repeat.")
@click.option("--weight", "weights", multiple=True, metavar="JOB=N", help="Counts as so many jobs; repeat.")
@click.option(
    "--catalogue",
    type=click.Path(path_type=Path),
    help="CSV file of what can be bought, for what is lacking.",
)
@click.option("--reserve", is_flag=True, help="Reserve what is chosen: all of it, or nothing.")
@shop_option
@json_option
def command(
    folder: Path,
    pins: tuple[str, ...],
    first: tuple[str, ...],
    due: tuple[str, ...],
    weights: tuple[str, ...],
    catalogue: Path | None,
    reserve: bool,
    shop: Path,
    as_json: bool,
) -> None:
    """Share the shelf out among the planned jobs of FOLDER, so that no shim is reserved twice.

    Run 'shimwright plan FOLDER' first: its answers are what is chosen from. Most jobs are served, sooner ones
    before later ones; then with the fewest shims changed, the least miss, and the fewest types that become
    low. With --catalogue the smallest purchase that serves all of them is worked out, too.

    Example: shimwright share-out jobs --first a_more_support --catalogue catalogue.csv
    """
    from optimiser.actions.share_out import reserve_shared, share_shelf
    from optimiser.files.catalogue import read_catalogue
    from optimiser.ledger.connection import Ledger

    plans = _plans(folder)
    jobs = _jobs(plans, pins=pins, first=first, due=due, weights=weights)
    with Ledger.open(shop) as ledger:
        shared = share_shelf(ledger, jobs, offers=() if catalogue is None else read_catalogue(catalogue))
        if reserve:
            reserve_shared(ledger, plans, shared.day)
    said = SharedOut(shared, reserved=reserve)
    say_json(json.dumps(said.document(), ensure_ascii=False)) if as_json else said.print()


def _plans(folder: Path) -> dict[str, tuple[Path, PlanDocument]]:
    """The jobs of a folder that are planned, with their plans, by name."""
    from optimiser.cli.plans_command import job_files
    from optimiser.documents.plan_reader import read_plan
    from optimiser.files.base import read_text

    found = {}
    for path in job_files(folder):
        place = path.with_suffix(".json")
        if place.exists():
            found[path.stem] = path, read_plan(read_text(place, what="plan"), name=str(place))
    if not found:
        raise InputError(
            f"{folder}: got no planned job, expected answers beside the jobs. Run first: "
            f"shimwright plan {folder}"
        )
    return found


def _jobs(
    plans: Mapping[str, tuple[Path, PlanDocument]],
    *,
    pins: Iterable[str],
    first: Sequence[str],
    due: Iterable[str],
    weights: Iterable[str],
) -> list[JobOptions]:
    from optimiser.allocation.job_options import JobOptions
    from optimiser.documents.day_options import day_options

    pinned = {name: _whole("--pin", text) for name, text in _by_job("--pin", pins, plans)}
    weight = {name: _whole("--weight", text) for name, text in _by_job("--weight", weights, plans)}
    days = {name: _day(text) for name, text in _by_job("--due", due, plans)}
    order = [*dict.fromkeys(_known("--first", job_name(name), plans) for name in first)]
    later = sorted(set(days.values()))
    jobs = []
    for name, (_, plan) in plans.items():
        place = len(later)
        if name in order:
            place = order.index(name) - len(order)
        elif name in days:
            place = later.index(days[name])
        job = JobOptions(name=name, options=day_options(plan), order=place, weight=weight.get(name, 1))
        if name in pinned:
            job = replace(job, pinned=pinned[name])
            if not job.open:
                raise InputError(
                    f"--pin: got {name}={pinned[name]}, expected one of its {len(job.options)} candidates."
                )
        jobs.append(job)
    return jobs


def _by_job(option: str, texts: Iterable[str], known: Iterable[str]) -> Iterable[tuple[str, str]]:
    for text in texts:
        name, mark, rest = text.rpartition("=")
        if not mark or not rest:
            raise InputError(f"{option}: got {text!r}, expected a job and a value, as 'my_job=2'.")
        yield _known(option, job_name(name), known), rest


def _known(option: str, name: str, known: Iterable[str]) -> str:
    if name not in known:
        raise InputError(f"{option}: got the job {name!r}, expected one of {', '.join(known)}.")
    return name


def _whole(option: str, text: str) -> int:
    if not (text.isascii() and text.isdecimal() and 1 <= int(text) <= 1000):
        raise InputError(f"{option}: got {text!r}, expected a whole number from 1.")
    return int(text)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(f"--due: got {text!r}, expected a day as 2026-12-01.") from None
