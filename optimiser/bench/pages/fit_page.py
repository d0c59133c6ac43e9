"""A fit of a damper: its verdict, its figures, its curves; kept so that plans use it, or taken back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.actions.fit_damper import forget_fit
from optimiser.bench.bench import Bench, form_of
from optimiser.bench.dyno_wishes import said_of, settled_of, wishes_of
from optimiser.bench.fit_folder import FitAsked
from optimiser.bench.pages.dyno_page import MOST_FILES, files_there
from optimiser.bench.pages.study_under_way import ALREADY, under_way
from optimiser.bench.search_folder import seen_of
from optimiser.bench.work_folder import SearchState, WorkKind
from optimiser.documents.fit_kept import FitKeptDocument, KeptLine
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_typed_damper
from optimiser.files.fit_file import place_beside
from optimiser.files.writing import write_whole
from optimiser.intake.brackets import adjusters_of
from optimiser.report.in_units import in_units
from optimiser.report.plain_curves import curves_svg
from optimiser.report.sheet import CurveLine

LABELS = {"identified": "yes", "one-sided": "from one side", "flat": "no"}


def show(bench: Bench, request: Request) -> Response:
    """The page."""
    name, path = bench.damper(request)
    folder = bench.searches.fit(name)
    state = folder.state
    found, asked, fault = None, None, folder.fault
    if state is SearchState.DONE:
        try:
            found, asked = folder.result(), folder.asked()
        except InputError as error:
            fault = str(error)  # the page still leads to the runs, from which it is fitted again
    return bench.page(
        request,
        "fit.jinja",
        name=name,
        called=read_typed_damper(path).name,
        standing=bench.standing(request, name, WorkKind.FIT),
        state=state,
        fault=fault,
        found=None if found is None else _told(bench, found),
        stale=asked is not None and asked.seen != seen_of(path),
        files=[] if asked is None else [one.name for one in asked.files],
        in_use=place_beside(path).is_file(),
    )


def _told(bench: Bench, found: FitKeptDocument) -> dict[str, Any]:
    lines = _lines(found.lines)
    return {
        "holds": found.fit.holds,
        "points": found.fit.points,
        "runs": found.fit.runs,
        "verdict": found.verdict.get(bench.units.value, []),
        "told": found.told,
        "left_out": [f"{one.points} of {one.run}, since {one.why}" for one in found.fit.left_out],
        "bands": found.fit.bands,
        "figures": [
            (one.words, one.moved, " and ".join(one.moved_between), LABELS[one.label])
            for one in found.fit.figures
            if one.label != "flat"
        ],
        "notes": [in_units(note.replace(f"{bench.shop}/", ""), bench.units) for note in found.notes],
        "lines": [line.name for line in lines],
        "curves": curves_svg(lines, (), units=bench.units, name="fit", measured=_lines(found.measured))
        if lines
        else (),
    }


def _lines(kept: Sequence[KeptLine]) -> list[CurveLine]:
    return [
        CurveLine(one.name, tuple(one.velocities_m_s), tuple(one.forces_n), one.promised_to_m_s)
        for one in kept
    ]


def ask(bench: Bench, request: Request) -> Response:
    """Begin to fit."""
    name, path = bench.damper(request)
    form, there = form_of(request), files_there(bench)
    wanted = [one for one in form.get("files", "").split("/") if one]
    if not wanted or len(wanted) > MOST_FILES or not set(wanted) <= set(there):
        raise InputError(
            "files: got none that lie in the shop's folder dyno, expected at least one. Read them first."
        )
    wishes = wishes_of(form, adjusters := adjusters_of(read_typed_damper(path).damper))
    settled_of(wishes)
    said_of(wishes, adjusters)  # what is odd is refused now, and not in the background
    asked = FitAsked(
        damper=path, files=tuple(there[one] for one in wanted), wishes=wishes, seen=seen_of(path)
    )
    began = bench.searches.ask_fit(name, asked)
    return bench.on(f"/dampers/{name}/fit", "" if began else ALREADY)


def keep(bench: Bench, request: Request) -> Response:
    """Put a fit beside the damper's file, so that plans use it."""
    name, path = bench.damper(request)
    folder = bench.searches.fit(name)
    if folder.state is not SearchState.DONE:
        raise InputError("fit: got a damper without a fit, expected one. Fit it first.")
    if folder.asked().seen != seen_of(path):
        raise InputError("fit: the damper's file has changed since. Fit it again, then keep it.")
    if not folder.result().fit.holds and form_of(request).get("even so") != "yes":
        raise InputError("fit: got one that does not hold. Say 'even so' to keep it all the same.")
    write_whole(place_beside(path), folder.staged())
    return bench.on(
        f"/dampers/{name}/fit", "Kept: plans use these figures from now on. 'Take it back' ends that."
    )


def forget(bench: Bench, request: Request) -> Response:
    """Take the fit beside the damper's file back."""
    name, path = bench.damper(request)
    gone = forget_fit(path)
    said = (
        "There was no fit."
        if gone is None
        else "Taken back: plans use the figures of the damper's file again."
    )
    return bench.on(f"/dampers/{name}/fit", said)


def routes(bench: Bench) -> list[Route]:
    """The addresses of a fit."""
    return [
        Route("/dampers/{damper}/fit", lambda request: show(bench, request)),
        Route("/dampers/{damper}/fit/ask", lambda request: ask(bench, request), methods=["POST"]),
        Route("/dampers/{damper}/fit/keep", lambda request: keep(bench, request), methods=["POST"]),
        Route("/dampers/{damper}/fit/forget", lambda request: forget(bench, request), methods=["POST"]),
        *under_way(bench, WorkKind.FIT, "fit"),
    ]
