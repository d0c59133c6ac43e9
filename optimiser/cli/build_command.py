"""``shimwright build``: reserve the shims of a candidate and write its sheet."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from optimiser.cli.band_percent import asked_otherwise
from optimiser.cli.ledger_options import shop_option, type_keys, with_hole
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

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from optimiser.documents.folded import FoldedDocument
    from optimiser.documents.plan import CandidateDocument, PlanDocument
    from optimiser.files.writing import Draft
    from optimiser.intake.own_record import StepTaken
    from optimiser.jobs.job import Job
    from optimiser.jobs.planned import Planned
    from optimiser.ledger.build_rows import Build
    from optimiser.model.answer import Candidate
    from optimiser.model.stock import ShimKey


@click.command("build")
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--pick", type=click.IntRange(min=1), default=1, show_default=True, help="Which candidate.")
@click.option(
    "--plan",
    "plan_file",
    type=click.Path(path_type=Path),
    help="Pick from this plan, as plan --json wrote it.",
)
@click.option("--sheet", type=click.Path(path_type=Path, dir_okay=False), help="Write the build sheet here.")
@click.option(
    "--override", "reason", help="Go on although the basics are out of range; says why on the sheet."
)
@asked_otherwise_options
@time_limit_option
@confidence_option
@measured_option
@as_found_option
@units_option
@shop_option
@json_option
def command(
    job: Path,
    pick: int,
    plan_file: Path | None,
    sheet: Path | None,
    reason: str | None,
    tolerances: tuple[str, ...],
    shifts: tuple[str, ...],
    most_changes: int | None,
    stack: str | None,
    time_limit: float | None,
    confidence: float | None,
    measured: bool,
    as_found: bool,
    units: Literal["metric", "imperial"],
    shop: Path,
    as_json: bool,
) -> None:
    """Reserve the shims of candidate PICK for JOB and write its build sheet.

    Plans from what the ledger has free, so that no shim is reserved twice; with --plan the candidate is that
    plan's. A plan with --hold, --ask, --changes, --stack, --measured or --confidence is built with the same
    options. Running it again writes the sheet of what is reserved again. Then: shimwright done JOB, or
    shimwright release JOB.

    Example: shimwright build jobs/a_more_support.toml --pick 1
    """
    from functools import partial

    from optimiser.actions.plan_to_build import plan_to_build
    from optimiser.actions.reserving import reserve_candidate, what_else
    from optimiser.documents.plan_reader import read_plan
    from optimiser.files.base import read_text
    from optimiser.files.job_reader import read_job
    from optimiser.files.writing import Draft, write_whole
    from optimiser.jobs.variant import AS_FILED
    from optimiser.jobs.varied import varied
    from optimiser.ledger.builds import keep_sheet, open_build, refuse_gone
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.job_record import job_record, with_free_shelf
    from optimiser.ledger.jobs import record_job
    from optimiser.ledger.planned import candidate_of
    from optimiser.ledger.rides import steps_ridden

    described, place = read_job(job), sheet or job.with_suffix(".html")
    with Ledger.open(shop) as ledger:
        standing = open_build(ledger, job.stem)
        if standing is not None:
            if standing.sheet:
                _refuse_second_pick(standing, pick)
            else:
                # Reserved with the jobs of a day: its sheet is made when somebody wants to build it.
                text = _sheet_of_reserved(
                    with_free_shelf(described, ledger), standing, steps_ridden(ledger), units
                )
                keep_sheet(ledger, standing.number, text)
                standing = replace(standing, sheet=text)
            write_whole(place, standing.sheet)
            _show(standing, place, again=True, as_json=as_json)
            return
        record = job_record(described)
        with ledger.trial():
            # What the books would refuse is said before minutes are spent on planning.
            record_job(ledger, record, as_found=as_found)

        if plan_file is not None:
            # The tuner chose from this plan: tell him who has the shims before, too.
            document = read_plan(read_text(plan_file, what="plan"), name=str(plan_file))
            measured = measured or document.measured
            if confidence is None and document.confidence is not None:
                confidence = document.confidence.asked
            refuse_gone(
                ledger,
                candidate_of(plan_to_build(document), pick).taken,
                other_way=partial(what_else, ledger, document, job=str(job)),
            )
        with Draft(place) as draft:
            free_job = with_free_shelf(described, ledger)
            more = {"most_changes": most_changes, "stack": stack}
            variant = asked_otherwise(tolerances, shifts, measured=measured, confidence=confidence, **more)
            planned = _plan(
                varied(free_job, variant) if variant != AS_FILED else free_job,
                steps_ridden(ledger),
                reason=reason,
                time_limit=time_limit,
            )
            candidates, now = _answer(planned)
            if plan_file is None:
                document = now
            text = _sheet(planned, candidates[_place(document, now, pick=pick)], units)
            # The sheet is on the disk, and only has no name yet, before the books change.
            draft.fill(text)
            build = reserve_candidate(ledger, described, document, pick=pick, sheet=text, as_found=as_found)
            _put(draft, build)
    _show(build, place, again=False, as_json=as_json)


def _put(draft: Draft, build: Build) -> None:
    """Show the sheet; when even that fails, say that the shims are reserved all the same."""
    try:
        draft.put()
    except InputError as error:
        raise InputError(
            f"Candidate {build.pick} is reserved for {build.job}, but its sheet is not written. {error} "
            "The same 'shimwright build' again writes the sheet and reserves nothing more."
        ) from None


def _refuse_second_pick(standing: Build, pick: int) -> None:
    if standing.pick != pick:
        raise InputError(
            f"--pick: got {pick}, but candidate {standing.pick} is reserved for this job; expected one "
            f"build at a time. Put it back with 'shimwright release {standing.job}' first."
        )


def _plan(
    job: Job, record: tuple[StepTaken, ...], *, reason: str | None, time_limit: float | None
) -> Planned:
    from optimiser.cli.watching import watched
    from optimiser.jobs.plan import plan_job
    from optimiser.search import Control

    with watched("Planning from what is free") as (progress, should_stop):
        planned = plan_job(
            job,
            record=record,
            override_reason=reason,
            control=Control(
                time_limit=job.work.patience(time_limit), progress=progress, should_stop=should_stop
            ),
        )
    if planned.interrupted:
        raise click.Abort
    return planned


def _answer(planned: Planned) -> tuple[Sequence[Candidate], PlanDocument]:
    """Everything that may be built, and the same as a document in the same order."""
    from optimiser.documents.plan_writer import plan_document
    from optimiser.report.plan_sheet import do_first, said, step_words
    from optimiser.report.unit_system import UnitSystem

    words = said(planned)
    if planned.answer is None or not planned.answer.candidates:
        raise InputError(f"Nothing to build: {words} 'shimwright plan' says more.")
    steps = [step_words(planned, candidate) for candidate in planned.answer.candidates]
    first = do_first(planned, units=UnitSystem.METRIC)
    return planned.buildable, plan_document(planned, said=words, do_first=first, steps=steps, sheet=None)


def _sheet_of_reserved(
    job: Job, standing: Build, record: tuple[StepTaken, ...], units: Literal["metric", "imperial"]
) -> str:
    """The sheet of what is reserved already, planned again."""
    planned = _plan(job, record, reason=None, time_limit=None)
    candidates, _ = _answer(planned)
    for candidate in candidates:
        if _stacks_of(planned, candidate).items() >= standing.stacks.items():
            return _sheet(planned, candidate, units)
    raise InputError(
        f"Candidate {standing.pick} is reserved for {standing.job}, and no plan of today has it: shelf or "
        f"files have changed since. Put it back with 'shimwright release {standing.job}' and plan again."
    )


def _place(then: PlanDocument, now: PlanDocument, *, pick: int) -> int:
    """Where the candidate that was picked from a plan stands among today's, whose order may have changed."""
    if pick > len(then.buildable):
        raise InputError(f"--pick: got {pick}, expected 1 to {len(then.buildable)}: that many were found.")
    old = then.buildable[pick - 1]
    for place, candidate in enumerate(now.buildable):
        if _what_it_makes(now, candidate) == _what_it_makes(then, old):
            return place
    raise InputError(
        f"Candidate {pick} of this plan is none of today's: shelf or files have changed since, or it was "
        "planned with other options, as --hold. Plan again and choose again."
    )


def _what_it_makes(plan: PlanDocument, candidate: CandidateDocument | FoldedDocument) -> tuple[object, ...]:
    """Stacks that change, clicks and other parts: by these a candidate is told from others."""
    from optimiser.documents.folded import FoldedDocument

    stacks = {plan.stack_name: candidate.stack}
    if not isinstance(candidate, FoldedDocument):
        stacks |= {one.stack_name: one.stack for one in candidate.others}
        stacks = {name: stack for name, stack in stacks.items() if name not in candidate.stays_shut}
    parts = [] if plan.parts is None else [(one.kind, one.name, one.file_after) for one in plan.parts.chosen]
    return stacks, candidate.adjusters, parts


def _stacks_of(planned: Planned, candidate: Candidate) -> dict[str, tuple[ShimKey, ...]]:
    """Every stack of the damper as a candidate leaves it."""
    from optimiser.model.edits import keys_of

    there = {mounted.name: mounted.stack for mounted in planned.job.damper.stacks}
    built = {planned.mounted.name: candidate.stack, **{one.name: one.stack for one in candidate.others}}
    return {name: keys_of(stack) for name, stack in (there | built).items()}


def _sheet(planned: Planned, candidate: Candidate, units: Literal["metric", "imperial"]) -> str:
    from optimiser.report.page import sheet_html
    from optimiser.report.plan_sheet import sheet_of
    from optimiser.report.unit_system import UnitSystem

    return sheet_html(sheet_of(planned, candidate), units=UnitSystem(units))


def _show(build: Build, place: Path, *, again: bool, as_json: bool) -> None:
    from optimiser.files.micrometer import readings_text

    if as_json:
        document = {
            "format": "shimwright build 1",
            "job": build.job,
            "pick": build.pick,
            "state": build.state,
            "taken": _counted(build.taken),
            "returned": _counted(build.returned),
            "sheet": str(place),
        }
        say_json(json.dumps(document, ensure_ascii=False))
        return
    say(f"{'Still reserved' if again else 'Reserved'} for {build.job}, candidate {build.pick}:")
    if not build.taken and not build.returned:
        say("  no shims move; what the sheet says does it")
    for key, count in sorted(build.taken.items(), reverse=True):
        read = readings_text(build.readings_taken.get(key, ()))
        say(f"  take {count} of {with_hole(key)} from the shelf{f', measuring {read}' if read else ''}")
    for key, count in sorted(build.returned.items(), reverse=True):
        say(f"  {count} of {with_hole(key)} will come out of the damper")
    say(f"Build sheet: {place}")
    say(f"When it is built: shimwright done {build.job}. If not: shimwright release {build.job}.")


def _counted(shims: Mapping[ShimKey, int]) -> list[dict[str, float]]:
    return [type_keys(key) | {"count": count} for key, count in sorted(shims.items(), reverse=True)]
