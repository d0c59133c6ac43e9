"""A candidate of a plan is reserved for its job: the books and the sheet that they keep change together."""

from __future__ import annotations

from optimiser.actions.plan_to_build import plan_to_build
from optimiser.documents.plan import PlanDocument
from optimiser.jobs.job import Job
from optimiser.ledger.build_rows import Build
from optimiser.ledger.builds import reserve
from optimiser.ledger.connection import Ledger
from optimiser.ledger.job_record import job_record
from optimiser.ledger.jobs import record_job
from optimiser.ledger.levels import free_stock
from optimiser.ledger.planned import other_way, planned_build


def what_else(ledger: Ledger, plan: PlanDocument, *, job: str) -> str:
    """Which other candidate of a plan can be built from what is free, in a sentence.

    Parameters
    ----------
    ledger : the shop's ledger.
    plan : the plan.
    job : as it is called in the sentence.
    """
    free = free_stock(ledger)
    return other_way(plan_to_build(plan), free.in_hand() if plan.measured else free, job=job)


def reserve_candidate(
    ledger: Ledger, job: Job, plan: PlanDocument, *, pick: int, sheet: str, as_found: bool = False
) -> Build:
    """Enter a job in the books and promise it the shims of a candidate; all of it or nothing.

    Parameters
    ----------
    ledger : the shop's ledger.
    job : as its file describes it.
    plan : its plan.
    pick : which candidate, from 1 as the plan counts them.
    sheet : the text of the candidate's build sheet, which the books keep.
    as_found : the damper came in as its file says, whatever the ledger knows of it.

    Raises
    ------
    InputError
        When the plan has no such candidate.
    LedgerError
        When shims are gone, another build stands, or the damper is no longer as the plan saw it.
    """
    with ledger.atomic():
        numbers = record_job(ledger, job_record(job), as_found=as_found)
        return reserve(
            ledger,
            planned_build(plan_to_build(plan), pick=pick, numbers=numbers),
            write_sheet=lambda: sheet,
            other_way=lambda: what_else(ledger, plan, job=str(job.path)),
        )
