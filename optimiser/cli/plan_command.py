"""``shimwright plan``: the main job, from a job file to a build sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

import click

from optimiser.cli.options import json_option, units_option
from optimiser.errors import InputError

if TYPE_CHECKING:
    from optimiser.files.job_reader import LoadedJob
    from optimiser.intake.own_record import StepTaken
    from optimiser.plan import Candidate
    from optimiser.planning import Planned
    from optimiser.report.sheet import BuildSheet
    from optimiser.report.unit_system import UnitSystem

EXIT_CODES: Final = {"basics first": 4, "cannot be reached": 3, "nothing found": 3}
"""Exit codes of answers that leave the rider's wish unmet."""


@click.command("plan")
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--sheet", type=click.Path(path_type=Path, dir_okay=False), help="Write the build sheet here.")
@click.option(
    "--pick", type=click.IntRange(min=1), default=1, show_default=True, help="Candidate for the sheet."
)
@click.option(
    "--override", "reason", help="Go on although the basics are out of range; says why on the sheet."
)
@click.option("--time-limit", type=click.FloatRange(min=0.1), help="Give what stands after so many seconds.")
@units_option
@json_option
def command(
    job: Path,
    sheet: Path | None,
    pick: int,
    reason: str | None,
    time_limit: float | None,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> int:
    """Find the fewest shims to change for JOB, prove it, and write the build sheet.

    The sheet goes beside the job file as a page that opens in any browser and prints on A4. Where the shelf's
    folder has a ledger, shims that it has promised elsewhere are not planned with.

    Example: shimwright plan jobs/a_more_support.toml
    """
    from optimiser.cli.watching import watched
    from optimiser.files.writing import write_whole
    from optimiser.main_job import plan_job
    from optimiser.report.page import sheet_html
    from optimiser.report.plan_sheet import sheet_of
    from optimiser.report.unit_system import UnitSystem

    system = UnitSystem(units)
    with watched("Reading the damper and searching") as (progress, should_stop):
        loaded, record = _free_to_plan(job)
        planned = plan_job(
            loaded,
            record=record,
            override_reason=reason,
            time_limit=time_limit,
            progress=progress,
            should_stop=should_stop,
        )
    place, made = None, None
    candidate = _picked(planned, pick)
    if candidate is not None:
        place, made = sheet or job.with_suffix(".html"), sheet_of(planned, candidate)
        write_whole(place, sheet_html(made, units=system))
    if as_json:
        _print_json(planned, place)
    else:
        _print_text(planned, candidate, made, place, system)
    if planned.interrupted:
        return 130
    return EXIT_CODES.get(planned.outcome, 0)


def _free_to_plan(job: Path) -> tuple[LoadedJob, tuple[StepTaken, ...]]:
    """The job with what is free on the shelf, and the shop's own steps: by the ledger where there is one."""
    from optimiser.files.job_reader import read_job
    from optimiser.ledger.connection import Ledger, ledger_in
    from optimiser.ledger.loaded_job import with_free_shelf
    from optimiser.ledger.rides import steps_ridden

    loaded = read_job(job)
    shop = (job.parent / loaded.job.shelf).parent
    if not ledger_in(shop):
        return loaded, ()
    with Ledger.open(shop) as ledger:
        return with_free_shelf(loaded, ledger), steps_ridden(ledger)


def _picked(planned: Planned, pick: int) -> Candidate | None:
    if planned.answer is None:
        return None
    candidates = planned.answer.candidates
    if pick > max(len(candidates), 1):
        raise InputError(
            f"--pick: got {pick}, expected 1 to {len(candidates)}: that many candidates were found."
        )
    return candidates[pick - 1] if candidates else planned.answer.nearest


def _print_json(planned: Planned, place: Path | None) -> None:
    from optimiser.files.plan_writer import plan_document
    from optimiser.report.plan_sheet import said, step_words

    answer = planned.answer
    shown = [] if answer is None else [*answer.candidates, *([answer.nearest] if answer.nearest else [])]
    document = plan_document(
        planned,
        said=said(planned),
        steps=[step_words(planned, candidate) for candidate in shown],
        sheet=None if place is None else str(place),
    )
    click.echo(document.model_dump_json(indent=2))


def _print_text(
    planned: Planned,
    candidate: Candidate | None,
    made: BuildSheet | None,
    place: Path | None,
    units: UnitSystem,
) -> None:
    from rich.console import Console

    from optimiser.report.plan_text import print_plan

    print_plan(Console(), planned, candidate=candidate, sheet=made, units=units)
    if place is not None:
        click.echo(f"\nBuild sheet: {place}")
        click.echo("Open it in a browser, print it, take it to the bench.")
    elif planned.outcome == "basics first":
        click.echo('\nWhen that is set, run it again; or say why not: --override "REASON".')
