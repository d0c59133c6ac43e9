"""``shimwright measured``: what a dyno showed of a build, beside what was promised."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.ledger_options import job_name, shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from optimiser.dyno.run import DynoRun
    from optimiser.jobs.before_after import AskedBand, BeforeAfter
    from optimiser.jobs.job import Job
    from optimiser.ledger.build_rows import Build
    from optimiser.ledger.connection import Ledger


@click.command("measured")
@click.argument("job", type=click.Path(path_type=Path), required=False)
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
    job: Path | None,
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
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.measured_builds import record_measurement

    _refuse_contradictions(job, runs, earlier, forget)
    with Ledger.open(shop) as ledger:
        if job is None or not runs:
            if forget and job is not None:
                record_measurement(ledger, _done(ledger, job).number, (), runs="")
            _show(ledger, None if job is None else job_name(str(job)), forgotten=forget, as_json=as_json)
            return
        build = _done(ledger, job)
        found = _laid_over(ledger, job, build, runs=runs, earlier=earlier, machine=machine)
        if not found.level_only:
            files = "".join(hashlib.sha256(path.read_bytes()).hexdigest() for path in (*earlier, *runs))
            fingerprint = hashlib.sha256(files.encode()).hexdigest()
            record_measurement(ledger, build.number, found.bands, runs=fingerprint)
        _tell(ledger, build, found, as_json=as_json)


def _refuse_contradictions(
    job: Path | None, runs: tuple[Path, ...], earlier: tuple[Path, ...], forget: bool
) -> None:
    if forget and (job is None or runs):
        raise InputError("measured: --forget takes a JOB and no runs. Name the job alone.")
    if earlier and not runs:
        raise InputError("measured: --before belongs to runs after the build. Name those, too.")


def _done(ledger: Ledger, job: Path) -> Build:
    from optimiser.ledger.builds import last_done

    name = job_name(str(job))
    build = last_done(ledger, name)
    if build is None:
        raise InputError(
            f"job {name!r}: no build of it is done, expected one to measure. When it is built: shimwright "
            f"done {name}."
        )
    return build


def _laid_over(
    ledger: Ledger,
    path: Path,
    build: Build,
    *,
    runs: Sequence[Path],
    earlier: Sequence[Path],
    machine: str | None,
) -> BeforeAfter:
    from optimiser.cli.watching import watched
    from optimiser.files.dyno.reader import SaidOfFiles, read_session
    from optimiser.files.job_reader import read_job
    from optimiser.jobs.before_after import BuiltStack, before_after
    from optimiser.ledger.planned import promised
    from optimiser.ledger.present_stacks import stack_before
    from optimiser.model.edits import stack_of

    job: Job = read_job(path if path.suffix == ".toml" else Path("jobs") / f"{path.name}.toml")
    said = SaidOfFiles(machine=machine)
    damper = job.damper.damper

    def read(files: Sequence[Path]) -> tuple[DynoRun, ...]:
        return read_session(files, said=said, damper=damper).runs if files else ()

    after, before = read(runs), read(earlier)
    promise = promised(ledger, build)
    old = stack_before(ledger, build)
    with watched("Drawing the damper as it might be") as (_, should_stop):
        if should_stop():
            raise click.Abort
        return before_after(
            BuiltStack(
                damper=job.damper.with_stack(build.stack_name, stack_of(old)),
                stack_name=build.stack_name,
                new=stack_of(build.stack),
                clicks_before={one.name: one.position for one in damper.clickers},
                clicks_after={one.name: promise.clicks.get(one.name, one.position) for one in damper.clickers},
            ),
            _asked(promise.bands),
            before=before,
            after=after,
        )
