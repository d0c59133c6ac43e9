"""``shimwright measured``: what a dyno showed of a build, beside what was promised."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.actions.job_places import job_file, job_name
from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from optimiser.jobs.before_after import BeforeAfter
    from optimiser.ledger.build_rows import Build
    from optimiser.ledger.connection import Ledger


@click.command("measured")
@click.argument("job", required=False)
@click.argument("runs", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--before",
    "earlier",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A dyno file of the damper before the build; repeat.",
)
@click.option("--machine", metavar="NAME", help="Columns of a machine that this shop remembers.")
@click.option("--forget", is_flag=True, help="Take what was measured of JOB out of the record.")
@shop_option
@json_option
def command(
    job: str | None,
    runs: tuple[Path, ...],
    earlier: tuple[Path, ...],
    machine: str | None,
    forget: bool,
    shop: Path,
    as_json: bool,
) -> None:
    """Lay dyno RUNS after the build of JOB over the runs before it, and both over what was promised.

    RUNS are files as 'shimwright dyno' reads them. The promise is worked out again at the clicks and the
    temperature of the runs. With --before the result goes to the shop's record, from which the stated spread
    learns; without, the model's own force stands for the damper before, and nothing is written down.
    Measured again, the latest counts. Without JOB the whole record is shown.

    Example: shimwright measured jobs/a_more_support.toml dyno/after.csv --before dyno/before.csv
    """
    from optimiser.actions.measure_build import build_to_measure, forget_measured, write_down_measured
    from optimiser.ledger.connection import Ledger

    _refuse_contradictions(job, runs, earlier, forget)
    with Ledger.open(shop) as ledger:
        if job is None or not runs:
            if forget and job is not None:
                forget_measured(ledger, build_to_measure(ledger, job_name(job)))
            _show(ledger, None if job is None else job_name(job), forgotten=forget, as_json=as_json)
            return
        build = build_to_measure(ledger, job_name(job))
        found = _compared(ledger, shop, job, build, runs=runs, earlier=earlier, machine=machine)
        if not found.level_only:
            write_down_measured(ledger, build, found, (*earlier, *runs))
        _tell(ledger, build, found, as_json=as_json)


def _refuse_contradictions(
    job: str | None, runs: tuple[Path, ...], earlier: tuple[Path, ...], forget: bool
) -> None:
    if forget and (job is None or runs):
        raise InputError("measured: --forget takes a JOB and no runs. Name the job alone.")
    if earlier and not runs:
        raise InputError("measured: --before belongs to runs after the build. Name those, too.")


def _compared(
    ledger: Ledger,
    shop: Path,
    name: str,
    build: Build,
    *,
    runs: Sequence[Path],
    earlier: Sequence[Path],
    machine: str | None,
) -> BeforeAfter:
    from optimiser.actions.measure_build import measure_build
    from optimiser.cli.watching import watched

    path = job_file(shop, name)
    if path is None:
        raise InputError(f"JOB: got {name!r}, expected a job file, or the name of one in {shop / 'jobs'}.")
    with watched("Drawing the damper as it might be") as (_, should_stop):
        if should_stop():
            raise click.Abort
        return measure_build(ledger, path, build, runs=runs, earlier=earlier, machine=machine)


def _tell(ledger: Ledger, build: Build, found: BeforeAfter, *, as_json: bool) -> None:
    """The build that was measured, and what the record says by now."""
    from optimiser.documents.measured import MeasuredDocument, measured_build_document, record_document
    from optimiser.ledger.measured_builds import measured_builds
    from optimiser.report.console import terminal
    from optimiser.report.measured_text import print_outcome, record_sentences
    from optimiser.spread.measured_record import measured_record

    record = measured_record([one.bands for one in measured_builds(ledger)])
    if as_json:
        document = MeasuredDocument(
            builds=[measured_build_document(build.job, ledger.clock(), found.bands)],
            notes=list(found.notes),
            recorded=not found.level_only,
            record=record_document(record),
        )
        say_json(document.model_dump_json(indent=2))
        return
    print_outcome(terminal(), found.bands)
    for note in found.notes:
        say(note)
    if found.level_only:
        say(
            "No run before the build was given: the change is counted from the model's own force, with its "
            "error in it. Nothing was written to the record. Add --before FILE if there is one."
        )
    elif record is not None:
        say(f"Written to the record of {build.job}. Wrong? shimwright measured {build.job} --forget")
        for sentence in record_sentences(record):
            say(sentence)


def _show(ledger: Ledger, job: str | None, *, forgotten: bool, as_json: bool) -> None:
    """The record: of one job or of all."""
    from optimiser.documents.measured import MeasuredDocument, measured_build_document, record_document
    from optimiser.ledger.measured_builds import measured_builds
    from optimiser.report.console import terminal
    from optimiser.report.measured_text import print_outcome, record_sentences
    from optimiser.spread.measured_record import measured_record

    every = measured_builds(ledger)
    shown = [one for one in every if job in {None, one.job}]
    record = measured_record([one.bands for one in every])
    if as_json:
        document = MeasuredDocument(
            builds=[measured_build_document(one.job, one.at, one.bands) for one in shown],
            notes=[],
            recorded=forgotten,
            record=record_document(record),
        )
        say_json(document.model_dump_json(indent=2))
        return
    if forgotten:
        say(f"What was measured of {job} is out of the record.")
    for one in shown:
        say(f"{one.job}, {one.damper}, {one.at[:10]}:")
        print_outcome(terminal(), one.bands)
    if record is None:
        say("No build was measured yet. After a build: shimwright measured JOB RUNS --before RUNS.")
        return
    for sentence in record_sentences(record):
        say(sentence)
