"""``shimwright plan``: the main job, from a job file to a build sheet, or a folder of them side by side."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

import click

from optimiser.cli.band_percent import asked_otherwise
from optimiser.cli.options import (
    as_found_option,
    asked_otherwise_options,
    confidence_option,
    json_option,
    measured_option,
    time_limit_option,
    units_option,
)
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError
from optimiser.report.printable import printable

if TYPE_CHECKING:
    from optimiser.batch.job_to_sheet import SheetedJob
    from optimiser.jobs.planned import Planned
    from optimiser.model.answer import Candidate
    from optimiser.report.unit_system import UnitSystem

EXIT_CODES: Final = {"basics first": 4, "cannot be reached": 3, "nothing found": 3}
"""Exit codes of answers that leave the rider's wish unmet."""


UNSURE: Final = 3
"""Exit code when no stack keeps all limits as often as was asked."""

NOT_PLANNED: Final = 4
"""Exit code when the user would rather not go on."""


@click.command("plan")
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--sheet", type=click.Path(path_type=Path, dir_okay=False), help="Write the build sheet here.")
@click.option("--pick", type=click.IntRange(min=1), help="Candidate for the sheet; the first when left out.")
@click.option(
    "--override", "reason", help="Go on although the basics are out of range; says why on the sheet."
)
@asked_otherwise_options
@time_limit_option
@click.option("--cores", type=click.IntRange(min=1), help="Jobs of a folder at once; all cores if left out.")
@click.option("--cluster", metavar="ADDRESS", help="Plan a folder on this Dask scheduler's workers.")
@confidence_option
@measured_option
@as_found_option
@units_option
@json_option
def command(
    job: Path,
    sheet: Path | None,
    pick: int | None,
    reason: str | None,
    tolerances: tuple[str, ...],
    shifts: tuple[str, ...],
    most_changes: int | None,
    stack: str | None,
    time_limit: float | None,
    cores: int | None,
    cluster: str | None,
    confidence: float | None,
    measured: bool,
    as_found: bool,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> int:
    """Find the fewest shims to change for JOB, prove it, and write the build sheet.

    The sheet goes beside the job file as a page that opens in any browser and prints on A4. Where the shelf's
    folder has a ledger, shims that it has reserved for other jobs are not planned with, a stack that the shop
    has changed since is taken as it is now, and the sheet of a build is not written over.

    JOB may be a folder: every job file in it is planned, several at once, each with its sheet and, for
    programs, its answer in a .json beside it. One that cannot be read does not stop the others. The exit code
    is then that of the worst: 130 interrupted, 2 input that cannot be used, 1 a process lost, 3 not reached,
    4 basics first.

    A job that names no stack leaves every stack of its damper open: the fewest changes over all of them
    together are looked for, and the plan says which have to be opened and which need not.

    When nothing meets the goal, the plan prints what would do, each as a line to type: --hold widens a held
    band, --ask asks a target for another shift, --changes and --stack touch more or another. The job file
    stays as it is.

    Where shims on the shelf were measured, the plan says which of a type to take; --measured searches with
    what they measure instead of their nominal sizes.

    --confidence 0.9 looks for the fewest changes that keep all limits in 9 of 10 dampers built like this, and
    says what of that is proven. Exit code 3 where none do.

    Example: shimwright plan jobs/a_more_support.toml

    Example: shimwright plan jobs/a_more_support.toml --hold "square edges=4" --changes 1
    """
    from optimiser.cli.watching import watched

    if job.is_dir():
        for option, given in (
            ("--hold", tolerances),
            ("--ask", shifts),
            ("--changes", most_changes),
            ("--stack", stack),
            ("--confidence", confidence),
            ("--measured", measured or None),
        ):
            _one_job_only(option, job, given)
        return _folder(job, sheet, pick, reason, as_found, time_limit, cores, cluster, units, as_json)
    for option, value in (("--cores", cores), ("--cluster", cluster)):
        if value is not None:
            raise InputError(
                f"{option}: got the single job {job}, expected a folder of jobs. Leave the option out."
            )
    if not as_json and not _goes_on(job):
        return NOT_PLANNED
    with watched("Reading the damper and searching") as (progress, should_stop):
        from optimiser.batch.job_to_sheet import plan_to_sheet
        from optimiser.report.unit_system import UnitSystem
        from optimiser.search import Control

        if should_stop():
            raise click.Abort
        system = UnitSystem(units)
        done = plan_to_sheet(
            job,
            units=system,
            place=sheet,
            pick=pick or 1,
            override_reason=reason,
            as_found=as_found,
            control=Control(progress=progress, should_stop=should_stop),
            time_limit=time_limit,
            variant=asked_otherwise(
                tolerances,
                shifts,
                most_changes=most_changes,
                stack=stack,
                measured=measured,
                confidence=confidence,
                as_found=as_found,
            ),
        )
        interrupted = should_stop()
    if as_json:
        say_json(done.document().model_dump_json(indent=2))
    else:
        _print_text(done, system)
    if interrupted:
        return 130
    asked = done.planned.confidence
    unsure = asked is not None and not asked.reached
    return UNSURE if unsure else EXIT_CODES.get(done.planned.outcome, 0)


def _folder(
    folder: Path,
    sheet: Path | None,
    pick: int | None,
    reason: str | None,
    as_found: bool,
    time_limit: float | None,
    cores: int | None,
    cluster: str | None,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> int:
    from optimiser.cli.plans_command import plan_folder

    for option, value in (
        ("--sheet", sheet),
        ("--pick", pick),
        ("--override", reason),
        ("--as-found", as_found or None),
    ):
        _one_job_only(option, folder, value)
    if cores is not None and cluster is not None:
        raise InputError(
            "--cores: got it beside --cluster, expected one of them: a cluster has the cores of its workers."
        )
    return plan_folder(
        folder, cores=cores, cluster=cluster, units=units, time_limit=time_limit, as_json=as_json
    )


def _goes_on(job: Path) -> bool:
    """Whether to plan a job whose complaint is felt at the other end: at a terminal that is asked."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return True
    from optimiser.cli.watching import watched

    with watched("Reading the job") as (_, should_stop):
        from optimiser.files.job_reader import read_job
        from optimiser.jobs.noticed import other_end_of

        elsewhere = other_end_of(read_job(job))
        if should_stop():
            raise click.Abort
    if elsewhere is None or click.confirm(printable(f"{elsewhere.said} Plan it all the same?"), default=True):
        return True
    say("Not planned. Name the damper or the symptom of the other end in the job, and run it again.")
    return False


def _one_job_only(option: str, folder: Path, value: object) -> None:
    """Refuse an option that a folder of jobs cannot have."""
    if value not in {None, ()}:
        raise InputError(
            f"{option}: got the folder {folder}, expected one job. "
            "Leave the option out, or plan that job alone."
        )


def _what_next(planned: Planned, candidate: Candidate | None, *, waiting: bool) -> str:
    """What to do with a sheet that was written; ``waiting`` where a build of the job is in the books."""
    from optimiser.jobs.way_out import typed

    answer = planned.answer
    if answer is None or candidate is None or planned.outcome in EXIT_CODES:
        return "It shows the nearest, which misses the goal: build nothing from it without the rider's word."
    to_print = "Open it in a browser, print it, take it to the bench."
    if waiting or candidate not in answer.candidates or not candidate.opened(planned.mounted.name):
        return to_print
    job = planned.job
    build = typed(job, job.variant, override=planned.gate.override_reason, command="build")
    return f"{to_print}\nTo reserve its shims: {build} --pick {answer.candidates.index(candidate) + 1}"


def _print_text(done: SheetedJob, units: UnitSystem) -> None:
    from optimiser.report.console import terminal
    from optimiser.report.plan_text import print_plan

    print_plan(terminal(), done.planned, candidate=done.candidate, sheet=done.sheet, units=units)
    if done.place is not None:
        if done.kept is not None:
            say(f"\n{done.kept} is the sheet of a build, and stays.", nl=False)
        say(f"\nBuild sheet: {done.place}")
        say(_what_next(done.planned, done.candidate, waiting=done.kept is not None))
    elif done.planned.outcome == "basics first":
        settled = all(finding.may_override for finding in done.planned.gate.findings if finding.stops)
        or_else = '; or say why not: --override "REASON"' if settled else ""
        say(f"Basics first: when that is put right, run it again{or_else}.")
