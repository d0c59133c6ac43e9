"""One job from its file to its build sheet: what ``shimwright plan`` does with every job."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from optimiser.documents.plan import PlanDocument
from optimiser.documents.plan_writer import plan_document
from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from optimiser.files.writing import write_whole
from optimiser.intake.own_record import StepTaken
from optimiser.jobs.job import Job
from optimiser.jobs.plan import plan_job
from optimiser.jobs.planned import Planned
from optimiser.jobs.variant import AS_FILED, Variant
from optimiser.jobs.varied import varied
from optimiser.ledger.connection import Ledger, ledger_in
from optimiser.ledger.job_record import as_it_is_now, with_free_shelf
from optimiser.ledger.kept_sheets import place_for_sheet
from optimiser.ledger.rides import steps_ridden
from optimiser.model.answer import Candidate
from optimiser.report.page import sheet_html
from optimiser.report.plan_sheet import do_first, said, sheet_of, step_words
from optimiser.report.sheet import BuildSheet
from optimiser.report.unit_system import UnitSystem
from optimiser.search import Control, Progress


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetedJob:
    """A planned job and the sheet that was written for it.

    Parameters
    ----------
    planned : the job and its answer.
    candidate : which one the sheet is about, or the nearest; None when there is nothing to build.
    sheet : its build sheet; None when there is nothing to build.
    place : where the sheet was written.
    units : what people read.
    kept : the sheet of a build that lies where this one would have gone, and stays; None when none does.
    """

    planned: Planned
    candidate: Candidate | None
    sheet: BuildSheet | None
    place: Path | None
    units: UnitSystem
    kept: Path | None = None

    def document(self) -> PlanDocument:
        """The whole answer for other programs."""
        answer = self.planned.answer
        shown = [] if answer is None else [*answer.candidates, *([answer.nearest] if answer.nearest else [])]
        return plan_document(
            self.planned,
            said=said(self.planned),
            do_first=do_first(self.planned, units=self.units),
            steps=[step_words(self.planned, candidate) for candidate in shown],
            sheet=None if self.place is None else str(self.place),
            sheet_kept=None if self.kept is None else str(self.kept),
        )


def plan_to_sheet(
    job: Path,
    *,
    units: UnitSystem,
    place: Path | None = None,
    pick: int = 1,
    override_reason: str | None = None,
    as_found: bool = False,
    control: Control[Progress] | None = None,
    time_limit: float | None = None,
    variant: Variant = AS_FILED,
) -> SheetedJob:
    """Read a job, plan it from what is free, and write its build sheet.

    Parameters
    ----------
    job : the job file.
    units : what people read on the sheet.
    place : where the sheet goes; beside the job file when left out.
    pick : which candidate the sheet is about, from 1.
    as_found : take the damper as its file says, whatever the ledger knows.
    override_reason, control : as :func:`optimiser.jobs.plan.plan_job` takes them.
    time_limit : as typed: None for the job's own or the usual, 0 for none. [s]
    variant : what is asked otherwise than the file says.

    Raises
    ------
    InputError
        When the files cannot be used, there is no such candidate, or the sheet cannot be written.
    ModelError
        When the damper cannot be computed.
    """
    free, record = free_to_plan(job, as_found=as_found)
    planned = plan_job(
        free if variant is AS_FILED else varied(free, variant),
        record=record,
        override_reason=override_reason,
        control=replace(control or Control(), time_limit=free.work.patience(time_limit)),
    )
    candidate = _picked(planned, pick)
    if candidate is None:
        return SheetedJob(planned=planned, candidate=None, sheet=None, place=None, units=units)
    asked, sheet = place or job.with_suffix(".html"), sheet_of(planned, candidate)
    place = _place_beside_builds(free, asked)
    write_whole(place, sheet_html(sheet, units=units))
    kept = None if place == asked else asked
    return SheetedJob(planned=planned, candidate=candidate, sheet=sheet, place=place, units=units, kept=kept)


def free_to_plan(path: Path, *, as_found: bool = False) -> tuple[Job, tuple[StepTaken, ...]]:
    """The job with what is free on the shelf, and the shop's own steps: by the ledger where there is one.

    Parameters
    ----------
    path : the job file.
    as_found : take the damper as its file says, although the ledger knows that the shop has changed it since.
    """
    job = read_job(path)
    shop = job.shelf.parent
    if not ledger_in(shop):
        return job, ()
    with Ledger.open(shop) as ledger:
        present = job if as_found else as_it_is_now(job, ledger)
        return with_free_shelf(present, ledger), steps_ridden(ledger)


def _place_beside_builds(job: Job, asked: Path) -> Path:
    """Where the sheet goes, so that no sheet of a build is written over."""
    shop = job.shelf.parent
    if not ledger_in(shop):
        return asked
    with Ledger.open(shop) as ledger:
        beside = asked == job.path.with_suffix(".html")
        return place_for_sheet(ledger, asked, job=job.path.stem if beside else None)


def _picked(planned: Planned, pick: int) -> Candidate | None:
    if planned.answer is None:
        return None
    candidates = planned.answer.candidates
    if pick > max(len(candidates), 1):
        raise InputError(
            f"--pick: got {pick}, expected 1 to {len(candidates)}: that many candidates were found."
        )
    return candidates[pick - 1] if candidates else planned.shown
