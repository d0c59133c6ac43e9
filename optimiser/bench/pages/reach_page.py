"""How far each band of a job goes: asked, worked out in the background, drawn and listed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.bench.bench import Bench, form_of, whole_number
from optimiser.bench.pages.study_under_way import ALREADY, under_way
from optimiser.bench.pages.study_words import changes_of, status_words
from optimiser.bench.search_folder import seen_of
from optimiser.bench.study_folder import StudyAsked
from optimiser.bench.work_folder import SearchState, WorkKind
from optimiser.documents.reach import EndDocument, ReachDocument
from optimiser.errors import InputError
from optimiser.model.percent import percent_text
from optimiser.report.plain_reach import plain_reach_svg
from optimiser.report.reach_text import changes_words

MOST_CHANGES = 4


def reach_part(bench: Bench, request: Request, name: str, path: Path) -> dict[str, Any]:
    """What a page shows of a job's reach: where it stands, what came of it.

    Parameters
    ----------
    bench, request : the shop, and what is asked.
    name, path : of the job and its file.
    """
    folder = bench.searches.study(WorkKind.REACH, name)
    state = folder.state
    found, stale, fault = None, False, folder.fault
    if state is SearchState.DONE:
        try:
            found, stale = _found(folder.result()), folder.asked().seen != seen_of(path)
        except InputError as error:
            fault = str(error)  # the page still has the form that asks again
    return {
        "standing": bench.standing(request, name, WorkKind.REACH),
        "state": state,
        "fault": fault,
        "found": found,
        "stale": stale,
        "drawing": None if found is None else plain_reach_svg(found, units=bench.units, name="reach"),
        "most_changes": MOST_CHANGES,
    }


def _found(text: str) -> ReachDocument | None:
    try:
        found = ReachDocument.model_validate_json(text)
    except ValueError:
        raise InputError("reach: the file of it cannot be read. Ask again; that writes it anew.") from None
    drawable = found.bands and all(band.extents and band.velocities_m_s for band in found.bands)
    return (
        found
        if drawable and all(0 <= one.changes <= MOST_CHANGES for band in found.bands for one in band.extents)
        else None
    )


def show(bench: Bench, request: Request) -> Response:
    """The page."""
    name, path = bench.job(request)
    part = reach_part(bench, request, name, path)
    found: ReachDocument | None = part["found"]
    return bench.page(
        request,
        "reach.jinja",
        name=name,
        reach=part,
        rows=[] if found is None else list(_rows(bench, found)),
        trust="" if found is None else status_words(found.status),
    )


def _rows(bench: Bench, found: ReachDocument) -> Iterator[dict[str, Any]]:
    for band in found.bands:
        span = bench.units.span_text(min(band.velocities_m_s), max(band.velocities_m_s))
        force = f"{bench.units.force_text(band.average_before_n)} {bench.units.force_unit} on average"
        yield {
            "name": band.name,
            "where": f"{band.stroke}, {span}, {force}",
            "wanted": "" if band.wanted_percent is None else percent_text(band.wanted_percent / 100),
            "ends": [
                {
                    "changes": changes_words(extent.changes),
                    "side": side,
                    "shift": percent_text(end.shift_percent / 100),
                    "proven": "proven" if end.proven else "not proven",
                    "by": _by(end),
                }
                for extent in band.extents
                for side, end in (("down to", extent.least), ("up to", extent.most))
            ],
        }


def _by(end: EndDocument) -> str:
    if end.number_of_changes:
        return changes_of(end.changes)
    if not end.shift_percent:
        return "as it is"
    return ", ".join(f"{name} {clicks} out" for name, clicks in end.adjusters.items())


def ask(bench: Bench, request: Request) -> Response:
    """Begin to work it out."""
    name, path = bench.job(request)
    form = form_of(request)
    asked = StudyAsked(
        job=path,
        most=whole_number(form, "changes", least=0, most=MOST_CHANGES),
        seconds=float(whole_number(form, "seconds", least=2, most=600)),
        seen=seen_of(path),
    )
    began = bench.searches.ask_study(WorkKind.REACH, name, asked)
    return bench.on(f"/jobs/{name}/reach", "" if began else ALREADY)


def routes(bench: Bench) -> list[Route]:
    """The addresses of a reach."""
    return [
        Route("/jobs/{job}/reach", lambda request: show(bench, request)),
        Route("/jobs/{job}/reach/ask", lambda request: ask(bench, request), methods=["POST"]),
        *under_way(bench, WorkKind.REACH, "reach"),
    ]
