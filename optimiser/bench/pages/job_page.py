"""A job: its goal on the curve, what may change, its search, and what comes after it in the shop."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from damping_model.errors import ModelError
from optimiser.actions.compare_subject import Subject
from optimiser.bench.bench import Bench, form_of, whole_number
from optimiser.bench.pages.reach_page import reach_part
from optimiser.bench.pages.share_drawings import share_drawings
from optimiser.bench.search_folder import SearchAsked, seen_of
from optimiser.bench.work_folder import SearchState
from optimiser.errors import InputError, ShimwrightError
from optimiser.files.bands_in_job import Row, write_bands
from optimiser.files.base import read_toml
from optimiser.files.job_file import JobFile
from optimiser.intake.bands import SIGN
from optimiser.jobs.job_basics import basics_of
from optimiser.jobs.setup import JobSetup
from optimiser.jobs.what_if import FASTEST, POINTS, SLOWEST
from optimiser.ledger.builds import last_done, open_build
from optimiser.ledger.job_record import OWN_BUILD
from optimiser.model.goal import Role, Window, mean_limits
from optimiser.report.plain_axes import bands_of
from optimiser.report.plain_curves import curves_svg
from optimiser.report.plan_sheet import curve_line

MOST_ROWS = 6
"""Targets, and held bands, of the form."""


def show(bench: Bench, request: Request) -> Response:
    """The page of a job."""
    name, path = bench.job(request)
    file = read_toml(path, JobFile, what="job")
    fault, subject = "", None
    try:
        subject = bench.subject(path)
    except (ShimwrightError, ModelError) as error:
        fault = str(error)
    setup = None if subject is None else subject.setup
    return bench.page(
        request,
        "job.jinja",
        name=name,
        file=file,
        fault=fault,
        goal=None if subject is None or setup is None else _goal(bench, subject, setup),
        rows=[] if setup is None else _rows(file, setup),
        search=_search(bench, request, name, path),
        books=_books(bench, name),
        reach=reach_part(bench, request, name, path),
        most_rows=MOST_ROWS,
    )


def _goal(bench: Bench, subject: Subject, setup: JobSetup) -> dict[str, Any]:
    """The goal as the page shows it: on the curve, in words, and what the basics say."""
    speeds = np.geomspace(SLOWEST, FASTEST, POINTS)
    with bench.computing:
        line = curve_line("as it is", subject.first.curve(np.concatenate([-speeds[::-1], speeds])))
    gate, bands = basics_of(setup.job), bands_of(setup.asked.goal)
    return {
        "shares": share_drawings(bench, subject.first.damper, name="shares", bands=bands),
        "curves": curves_svg([line], bands, units=bench.units, name="goal"),
        "reasons": setup.asked.reasons,
        # What the books say of its own build stands above, with buttons in place of commands.
        "findings": [one for one in gate.findings if one.what != OWN_BUILD],
        "passed": gate.passed,
        "damper": setup.job.damper.name,
        "stack": setup.mounted.name,
    }


def _rows(file: JobFile, setup: JobSetup) -> list[dict[str, Any]]:
    """The rows of the form: as the file has them, or as words made them."""
    if file.target or file.hold:
        return [_from_file("target", one.model_dump()) for one in file.target] + [
            _from_file("hold", one.model_dump()) for one in file.hold
        ]
    return [_from_window(one) for one in setup.asked.goal.windows if one.role is not Role.FAMILIARITY]


def _from_file(kind: str, given: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "kind": kind,
        "name": given["name"],
        "stroke": given["stroke"],
        "low": f"{given['from_m_s']:g}",
        "high": f"{given['to_m_s']:g}",
        "shift": _plain(given.get("shift_percent")),
        "newtons": _plain(given.get("shift_n")),
        "tolerance": f"{given['tolerance_percent']:g}",
        "every": bool(given.get("at_every_velocity")),
    }


def _from_window(window: Window) -> dict[str, Any]:
    low, high = mean_limits(window)
    speeds = [abs(velocity) for velocity in window.velocities]
    target = window.role is Role.TARGET
    return {
        "kind": "target" if target else "hold",
        "name": window.name,
        "stroke": next(stroke for stroke, sign in SIGN.items() if sign * window.velocities[0] > 0),
        "low": f"{min(speeds):.3g}",
        "high": f"{max(speeds):.3g}",
        "shift": f"{50 * (low + high):.3g}" if target else "",
        "newtons": "",
        "tolerance": f"{50 * (high - low):.3g}",
        "every": False,
    }


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _search(bench: Bench, request: Request, name: str, path: Any) -> dict[str, Any]:
    folder = bench.searches.of(name)
    state = folder.state
    stale = False
    if state is SearchState.DONE:
        stale = folder.asked().seen != seen_of(path)
    return {
        "standing": bench.standing(request, name),
        "state": state,
        "fault": folder.fault,
        "stale": stale,
    }


def _books(bench: Bench, name: str) -> dict[str, Any]:
    if not bench.has_ledger:
        return {"ledger": False, "open": None, "done": None}
    with bench.looking() as ledger:
        return {"ledger": True, "open": open_build(ledger, name), "done": last_done(ledger, name)}


def save(bench: Bench, request: Request) -> Response:
    """Write the bands of the form into the job's file."""
    name, path = bench.job(request)
    form = form_of(request)
    targets, holds = _tables(form, "target"), _tables(form, "hold")
    if not targets:
        raise InputError("target: got none, expected at least one band that is to move. Give one a name.")
    changes = whole_number(form, "changes", least=0, most=4)
    write_bands(path, targets=targets, holds=holds, most_changes=changes)
    return bench.on(f"/jobs/{name}", "The goal is in the job's file.")


def _tables(form: Mapping[str, str], kind: str) -> list[Row]:
    found: list[Row] = []
    for row in range(2 * MOST_ROWS):
        field = f"{kind}{row}-"
        name = form.get(f"{field}name", "").strip()
        if not name:
            continue
        where = f"{kind} '{name[:40]}'"
        one: dict[str, str | float | bool] = {
            "name": name,
            "stroke": form.get(f"{field}stroke", ""),
            "from_m_s": _number(form, f"{field}low", where),
            "to_m_s": _number(form, f"{field}high", where),
        }
        if kind == "target":
            newtons = form.get(f"{field}newtons", "").strip()
            key, asked = ("shift_n", "newtons") if newtons else ("shift_percent", "shift")
            one[key] = _number(form, f"{field}{asked}", where)
        one["tolerance_percent"] = _number(form, f"{field}tolerance", where)
        if form.get(f"{field}every") == "yes":
            one["at_every_velocity"] = True
        found.append(one)
    return found


def _number(form: Mapping[str, str], field: str, where: str) -> float:
    text = form.get(field, "").strip().replace(",", ".").replace("\N{MINUS SIGN}", "-")
    what = field.rpartition("-")[2]
    try:
        number = float(text)
    except ValueError:
        number = float("nan")
    if not np.isfinite(number):
        raise InputError(f"{where}: {what}: got {text[:40]!r}, expected a number.")
    return number


def search(bench: Bench, request: Request) -> Response:
    """Begin a search."""
    name, path = bench.job(request)
    form = form_of(request)
    reason, sure = form.get("reason", "").strip(), form.get("confidence", "")
    if sure not in {"", "0.8", "0.9", "0.95"}:
        raise InputError(f"confidence: got {sure[:40]!r}, expected one of those on the page.")
    asked = SearchAsked(
        job=path,
        seconds=float(whole_number(form, "seconds", least=5, most=3600)),
        reason=reason[:200] or None,
        confidence=float(sure) if sure else None,
        measured=form.get("measured") == "yes",
        seen=seen_of(path),
    )
    began = bench.searches.ask(name, asked)
    return bench.on(f"/jobs/{name}#search", "" if began else "This job is searched for already.")


def stop(bench: Bench, request: Request) -> Response:
    """End a search; what stands is kept."""
    name, _ = bench.job(request)
    bench.searches.stop(name)
    return bench.on(f"/jobs/{name}#search", "Stopping; what stands is kept.")


def now(bench: Bench, request: Request) -> Response:
    """How far a search is, for the page's script."""
    name, _ = bench.job(request)
    standing = bench.standing(request, name)
    return JSONResponse({"standing": standing, "done": standing is None})


def routes(bench: Bench) -> list[Route]:
    """The addresses of a job."""
    return [
        Route("/jobs/{job}", lambda request: show(bench, request)),
        Route("/jobs/{job}/goal", lambda request: save(bench, request), methods=["POST"]),
        Route("/jobs/{job}/search", lambda request: search(bench, request), methods=["POST"]),
        Route("/jobs/{job}/stop", lambda request: stop(bench, request), methods=["POST"]),
        Route("/jobs/{job}/now", lambda request: now(bench, request)),
    ]
