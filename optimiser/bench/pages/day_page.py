"""The day: what is to build, to ride and to plan, what is reserved and low, what came back from rides."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.actions.job_places import unseen_jobs
from optimiser.bench.bench import Bench
from optimiser.bench.work_folder import SearchState
from optimiser.errors import InputError
from optimiser.files.base import read_toml
from optimiser.files.job_file import JobFile
from optimiser.ledger.day import Day, DayJob, JobStage, day

NOTHING: Day = Day((), (), (), ())

TO_DO = {
    JobStage.TO_PLAN: "Plan it",
    JobStage.TO_BUILD: "Build it",
    JobStage.TO_RIDE: "Write down the ride",
    JobStage.RIDDEN: "Look at it",
}


ANSWERED, SEARCHING = "an answer is there", "searching"

ANSWERED_HERE = "answered"
"""Where a job stands that is to plan in the books, and has an answer here already."""


@dataclass(frozen=True, slots=True)
class DayRow:
    """One job of the day as the page shows it.

    Parameters
    ----------
    name, title : of the job.
    whose : rider, machine and damper.
    stage : where it stands.
    since : when that began; empty when nobody knows.
    search : what its search does or found; empty without one.
    to_do : what comes next.
    """

    name: str
    title: str
    whose: str
    stage: str
    since: str
    search: str
    to_do: str


def show(bench: Bench, request: Request) -> Response:
    """The page."""
    found = NOTHING
    if bench.has_ledger:
        with bench.looking() as ledger:
            found = day(ledger)
    known = {job.name for job in (*found.jobs, *found.ridden)}
    rows = [_row(bench, request, job) for job in found.jobs]
    titles = bench.kept(("titles",), lambda: {name: _title(path) for name, path in bench.jobs().items()})
    rows += [
        _unseen(bench, request, name, titles[name])
        for name in unseen_jobs(bench.shop, known)
        if name in titles
    ]
    return bench.page(
        request,
        "day.jinja",
        rows=rows,
        found=found,
        ridden=[_row(bench, request, job) for job in found.ridden],
        rides={job.name: job.words for job in found.ridden},
        books=bench.has_ledger,
    )


def _row(bench: Bench, request: Request, job: DayJob) -> DayRow:
    whose = ", ".join(filter(None, (job.rider, job.machine, job.damper)))
    found = _search(bench, request, job.name)
    return DayRow(
        job.name,
        job.title,
        whose,
        _stands_at(job.stage, found),
        job.since[:10],
        found,
        _to_do(job.stage, found),
    )


def _unseen(bench: Bench, request: Request, name: str, title: str) -> DayRow:
    stage, found = JobStage.TO_PLAN, _search(bench, request, name)
    return DayRow(name, title, "", _stands_at(stage, found), "", found, _to_do(stage, found))


def _stands_at(stage: JobStage, search: str) -> str:
    return ANSWERED_HERE if stage is JobStage.TO_PLAN and search == ANSWERED else stage.value


def _to_do(stage: JobStage, search: str) -> str:
    """What comes next: of a job that is to plan, with the answer that is there or on its way."""
    if stage is not JobStage.TO_PLAN or not search:
        return TO_DO[stage]
    if search.startswith(SEARCHING):
        return "Look how far it is"
    return "See the answer" if search == ANSWERED else TO_DO[stage]


def _title(job: Path) -> str:
    try:
        return read_toml(job, JobFile, what="job").title
    except InputError:
        return "this file cannot be read"


def _search(bench: Bench, request: Request, name: str) -> str:
    """What a job's search does now, or what it came to."""
    standing = bench.standing(request, name)
    if standing is not None:
        return f"{SEARCHING}: {standing}"
    state = bench.searches.of(name).state
    return "" if state is None else ANSWERED if state is SearchState.DONE else state.value


def routes(bench: Bench) -> list[Route]:
    """The addresses of this page."""
    return [Route("/", lambda request: show(bench, request))]
