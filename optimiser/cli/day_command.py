"""``shimwright day``: the shop's open jobs, reserved shims, what is low, what came back from rides."""

from __future__ import annotations

import dataclasses
import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.ledger_options import shop_option, type_keys
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json

if TYPE_CHECKING:
    from optimiser.ledger.day import Day, DayJob
    from optimiser.report.tables_page import PageTable


@click.command("day")
@click.option(
    "--page",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write it as a page for the wall, too, as HTML.",
)
@shop_option
@json_option
def command(page: Path | None, shop: Path, as_json: bool) -> None:
    """Show which jobs are to plan, to build and to ride, what is reserved and low, and what rides showed.

    Job files in the shop's folder that the ledger has never seen are listed as to plan.

    Example: shimwright day
    """
    from optimiser.actions.job_places import unseen_jobs
    from optimiser.cli.plain_table import show_table
    from optimiser.files.writing import write_whole
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.day import day
    from optimiser.report.tables_page import tables_html

    with Ledger.open(shop) as ledger:
        found = day(ledger)
    unseen = unseen_jobs(shop, {job.name for job in (*found.jobs, *found.ridden)})
    tables = _tables(found, unseen)
    if page is not None:
        write_whole(page, tables_html("The day", tables, on=date.today()))
    if as_json:
        say_json(json.dumps(_document(found, unseen, page), indent=2, ensure_ascii=False))
        return
    for table in tables:
        say(table.title)
        show_table(table.heads, table.rows, empty=f"  {table.empty}")
        say("")
    if page is not None:
        say(f"Page: {page}")


def _tables(found: Day, unseen: list[str]) -> list[PageTable]:
    from optimiser.cli.ledger_options import with_hole
    from optimiser.report.tables_page import PageTable

    jobs = [(job.stage.value, job.name, _whose(job), job.since[:10], job.next_step) for job in found.jobs]
    jobs += [("to plan", name, "", "", f"shimwright plan jobs/{name}.toml") for name in unseen]
    return [
        PageTable(
            "Open jobs",
            ("Stands at", "Job", "Whose, which damper", "Since", "Next"),
            tuple(jobs),
            "No job is open.",
        ),
        PageTable(
            "Reserved",
            ("Shim", "Count", "For job"),
            tuple((with_hole(place.key), str(place.count), place.where) for place in found.reserved),
            "Nothing is reserved.",
        ),
        PageTable(
            "Low",
            ("Shim", "Free", "Low at", "Drawer"),
            tuple((with_hole(low.key), str(low.free), str(low.low_at), low.drawer) for low in found.low),
            "Nothing is low.",
        ),
        PageTable(
            "Back from rides",
            ("Job", "Whose, which damper", "When", "What it did"),
            tuple((job.name, _whose(job), job.since[:10], job.words) for job in found.ridden),
            "No ride is written down yet: 'shimwright outcome JOB WORDS' does.",
        ),
    ]


def _whose(job: DayJob) -> str:
    return ", ".join(filter(None, (job.rider, job.machine, job.damper)))


def _document(found: Day, unseen: list[str], page: Path | None) -> dict[str, object]:
    def keys(job: DayJob) -> dict[str, object]:
        return dataclasses.asdict(job) | {"stage": job.stage.value, "next": job.next_step}

    return {
        "format": "shimwright day 1",
        "jobs": [keys(job) for job in found.jobs],
        "not_in_the_ledger": unseen,
        "reserved": [
            type_keys(place.key) | {"count": place.count, "job": place.where} for place in found.reserved
        ],
        "low": [
            type_keys(level.key) | {"free": level.free, "low_at": level.low_at, "drawer": level.drawer}
            for level in found.low
        ],
        "ridden": [keys(job) for job in found.ridden],
        "page": None if page is None else str(page),
    }
