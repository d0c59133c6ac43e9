"""The day's jobs over one shelf: which candidate each gets, and all of it reserved in one transaction."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.actions.job_places import unseen_jobs
from optimiser.actions.share_out import SharedShelf, reserve_shared, share_shelf
from optimiser.allocation.day_choice import DayChoice
from optimiser.allocation.job_options import JobOptions
from optimiser.bench.bench import Bench, form_of
from optimiser.bench.pages.purchase_page import catalogues
from optimiser.bench.search_folder import seen_of
from optimiser.bench.work_folder import SearchState
from optimiser.documents.day_options import day_options
from optimiser.documents.plan import PlanDocument
from optimiser.errors import InputError
from optimiser.files.catalogue import Offer, read_catalogue
from optimiser.files.writing import write_whole
from optimiser.ledger.connection import Ledger
from optimiser.ledger.day import JobStage, day
from optimiser.ledger.errors import LedgerError
from optimiser.report.ladder_text import effort_words
from optimiser.report.share_out_text import cost_words, purchase_words, served_words, taken_words

SECONDS: Final = 2.0
"""For each objective: somebody waits for the page. [s]"""

MOST_JOBS: Final = 60
"""Shared out at a time."""


@dataclass(frozen=True, slots=True)
class DayWishes:
    """What is asked of the day, job by job.

    Parameters
    ----------
    pins : the only candidate that will do.
    first : jobs that are served before the others.
    due : the day that a job is promised for.
    catalogue : what can be bought; empty for nothing.
    """

    pins: Mapping[str, int]
    first: frozenset[str]
    due: Mapping[str, date]
    catalogue: str


def show(bench: Bench, request: Request) -> Response:
    """The page: who would get what."""
    plans = _planned(bench)
    asked = _asked(request.query_params, plans)
    shared = None
    if plans and bench.has_ledger:
        with bench.looking() as ledger:
            shared = _shared(bench, ledger, plans, asked)
    return bench.page(
        request,
        "share_out.jinja",
        books=bench.has_ledger,
        asked=asked,
        wished=bool(asked.pins or asked.first or asked.due or asked.catalogue),
        rows=[] if shared is None else _rows(plans, shared),
        said="" if shared is None else served_words(shared.jobs, shared.day),
        served=0 if shared is None else len(shared.day.served),
        purchase=_purchase(shared),
        picks="" if shared is None else _picks(shared.day),
        catalogues=list(catalogues(bench)),
    )


def _planned(bench: Bench) -> dict[str, tuple[Path, PlanDocument]]:
    """Jobs that are to be planned or built next and have an answer of what their file says now."""
    stages: dict[str, JobStage] = {}
    if bench.has_ledger:
        with bench.looking() as ledger:
            found = day(ledger)
        stages = {job.name: job.stage for job in (*found.jobs, *found.ridden)}
    open_jobs = {name for name, stage in stages.items() if stage is JobStage.TO_PLAN}
    open_jobs |= set(unseen_jobs(bench.shop, set(stages)))
    plans: dict[str, tuple[Path, PlanDocument]] = {}
    for name, path in bench.jobs().items():
        folder = bench.searches.of(name)
        if name not in open_jobs or folder.state is not SearchState.DONE or len(plans) >= MOST_JOBS:
            continue
        try:
            if folder.asked().seen == seen_of(path):
                plans[name] = path, folder.plan()
        except InputError:
            continue  # the job's own page says that its search has to be done again
    return plans


def _asked(form: Mapping[str, str], plans: Mapping[str, object]) -> DayWishes:
    pins, first, due = {}, set(), {}
    for name in plans:
        pin, day_text = form.get(f"pin {name}", "").strip(), form.get(f"due {name}", "").strip()
        if pin:
            if not (pin.isascii() and pin.isdecimal() and 1 <= int(pin[:4]) <= 1000 and len(pin) < 5):
                raise InputError(f"{name}: candidate: got {pin[:20]!r}, expected a whole number from 1.")
            pins[name] = int(pin)
        if day_text:
            try:
                due[name] = date.fromisoformat(day_text)
            except ValueError:
                raise InputError(
                    f"{name}: due: got {day_text[:20]!r}, expected a day as 2026-12-01."
                ) from None
        if form.get(f"first {name}") == "yes":
            first.add(name)
    return DayWishes(pins, frozenset(first), due, form.get("catalogue", "").strip())


def _shared(
    bench: Bench, ledger: Ledger, plans: Mapping[str, tuple[Path, PlanDocument]], asked: DayWishes
) -> SharedShelf:
    offers: tuple[Offer, ...] = ()
    if asked.catalogue:
        known = catalogues(bench)
        if asked.catalogue not in known:
            raise InputError(
                f"catalogue: got {asked.catalogue[:60]!r}, expected a catalogue in the shop's folder."
            )
        offers = tuple(read_catalogue(known[asked.catalogue]))
    return share_shelf(ledger, _jobs(plans, asked), offers=offers, seconds=SECONDS)


def _jobs(plans: Mapping[str, tuple[Path, PlanDocument]], asked: DayWishes) -> list[JobOptions]:
    """The jobs with those candidates that have a sheet: what is folded under them has none here."""
    later = sorted(set(asked.due.values()))
    jobs = []
    for name, (_, plan) in plans.items():
        options = tuple(one for one in day_options(plan) if one.rank <= len(plan.candidates))
        order = later.index(asked.due[name]) if name in asked.due else len(later)
        job = JobOptions(
            name=name,
            options=options,
            order=-1 if name in asked.first else order,
            pinned=asked.pins.get(name),
        )
        if name in asked.pins and not job.open:
            raise InputError(
                f"{name}: candidate: got {asked.pins[name]}, expected one of its {len(options)} candidates."
            )
        jobs.append(job)
    return jobs


def _rows(plans: Mapping[str, tuple[Path, PlanDocument]], shared: SharedShelf) -> list[dict[str, Any]]:
    rows = []
    for job in shared.jobs:
        one = shared.day.chosen[job.name]
        rows.append(
            {
                "name": job.name,
                "title": plans[job.name][1].job,
                "options": [option.rank for option in job.options],
                "pick": None if one is None else one.rank,
                "changes": "" if one is None else effort_words(one.changes),
                "taken": "" if one is None else taken_words(one),
                "cost": cost_words(job, shared.day, shared.shelf),
            }
        )
    return rows


def _purchase(shared: SharedShelf | None) -> str:
    if shared is None or not shared.offers:
        return ""
    if shared.bought is not None:
        return purchase_words(shared.bought, shared.offers)
    lacking = len(shared.day.served) < sum(bool(job.open) for job in shared.jobs)
    return "No purchase from this catalogue serves all of them." if lacking else "Nothing has to be bought."


def _picks(found: DayChoice) -> str:
    """What each job gets, as the page's form sends it back to be reserved."""
    return "/".join(f"{name}={one.rank}" for name, one in found.chosen.items() if one is not None)


def reserve(bench: Bench, request: Request) -> Response:
    """Reserve what the page showed: all of it, or nothing."""
    form = form_of(request)
    plans = _planned(bench)
    asked = _asked(form, plans)
    if not plans:
        raise InputError(
            "share out: got no job with an answer, expected at least one. Search for some first."
        )
    with bench.changing() as ledger, ledger.atomic():
        shared = _shared(bench, ledger, plans, asked)
        if not shared.day.served:
            raise InputError("share out: got no job that the shelf serves, expected at least one.")
        if _picks(shared.day) != form.get("picks", ""):
            return bench.on(
                "/share-out",
                "The shelf or an answer has changed since. This is how it comes out now.",
                bad=True,
            )
        try:
            reserve_shared(
                ledger,
                plans,
                shared.day,
                sheet_of=lambda name, rank: bench.searches.of(name).sheet(rank),
            )
        except LedgerError as error:
            return bench.on("/share-out", f"Nothing is reserved. {error}", bad=True)
    for name in shared.day.served:
        one = shared.day.chosen[name]
        if one is not None:
            write_whole(plans[name][0].with_suffix(".html"), bench.searches.of(name).sheet(one.rank))
    count = len(shared.day.served)
    words = f"Reserved for {count} {'job' if count == 1 else 'jobs'}, all of it."
    return bench.on(
        "/", f"{words} The page of each has its sheet, and puts its shims back if it is not built."
    )


def routes(bench: Bench) -> list[Route]:
    """The addresses of this page."""
    return [
        Route("/share-out", lambda request: show(bench, request)),
        Route("/share-out/reserve", lambda request: reserve(bench, request), methods=["POST"]),
    ]
