"""The day: what is to build, to ride and to plan, what is reserved and low, what came back from rides."""

from __future__ import annotations

from dataclasses import dataclass

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
    rows = [_row(bench, job) for job in found.jobs]
    rows += [_unseen(bench, name) for name in unseen_jobs(bench.shop, known) if name in bench.jobs()]
    return bench.page(
        request,
        "day.jinja",
        rows=rows,
        found=found,
        ridden=[_row(bench, job) for job in found.ridden],
        rides={job.name: job.words for job in found.ridden},
        books=bench.has_ledger,
    )


def _row(bench: Bench, job: DayJob) -> DayRow:
    whose = ", ".join(filter(None, (job.rider, job.machine, job.damper)))
    return DayRow(
        job.name,
        job.title,
        whose,
        job.stage.value,
        job.since[:10],
        _search(bench, job.name),
        TO_DO[job.stage],
    )


def _unseen(bench: Bench, name: str) -> DayRow:
    try:
        title = read_toml(bench.jobs()[name], JobFile, what="job").title
    except InputError:
        title = "this file cannot be read"
    stage = JobStage.TO_PLAN
    return DayRow(name, title, "", stage.value, "", _search(bench, name), TO_DO[stage])


def _search(bench: Bench, name: str) -> str:
    """What a job's search does now, or what it came to."""
    standing = bench.searches.standing(name)
    if standing is not None:
        return f"searching: {standing}"
    state = bench.searches.of(name).state
    return "" if state is None else "an answer is there" if state is SearchState.DONE else state.value


def routes(bench: Bench) -> list[Route]:
    """The addresses of this page."""
    return [Route("/", lambda request: show(bench, request))]
