"""What each shim of a stack does: one out and one more, in every band that some shim changes."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.actions.compare_subject import Subject
from optimiser.bench.bench import Bench
from optimiser.bench.pages.stack_drawings import drawn
from optimiser.errors import InputError
from optimiser.jobs.what_if import shown_goal
from optimiser.model.percent import percent_text
from optimiser.report.each_shim_text import (
    moved_bands,
    places_text,
    said_of,
    shims_text,
    tries_of,
    unmoved_text,
)
from optimiser.report.steps import hole_of


def of_job(bench: Bench, request: Request) -> Response:
    """The page of a job's stack."""
    name, path = bench.job(request)
    return _show(bench, request, bench.subject(path), home=f"/jobs/{name}")


def of_damper(bench: Bench, request: Request) -> Response:
    """The page of a stack of a damper without a job."""
    name, path = bench.damper(request)
    stack = request.query_params.get("stack", "")
    return _show(bench, request, bench.subject(path, stack=stack or None), home=f"/dampers/{name}")


def _show(bench: Bench, request: Request, subject: Subject, *, home: str) -> Response:
    mounted = subject.mounted
    if mounted is None:
        raise InputError("each shim: got a damper without a stack, expected one.")
    rows = bench.kept(("each shim", str(subject.path), mounted.name), lambda: _rows(subject))
    return bench.page(
        request, "each_shim.jinja", home=home, title=subject.title, drawing=drawn(mounted), **rows
    )


def _rows(subject: Subject) -> dict[str, Any]:
    goal = subject.goal or shown_goal(subject.bands, subject.first)
    shims = subject.each_shim(goal)
    moved = moved_bands(shims, goal)
    assert subject.mounted is not None  # noqa: S101 (looked at before)
    hole = hole_of(subject.mounted.stack)
    return {
        "bands": [(mark, window.name) for _, mark, window in moved],
        "unmoved": unmoved_text(shims, goal),
        "rows": [
            {
                "places": places_text(shim),
                "what": shims_text(shim, hole=hole),
                "tried": [
                    {
                        "name": name,
                        "said": " ".join(said_of(tried)),
                        "cells": [percent_text(tried.bands[place].mean) for place, _, _ in moved]
                        if tried.bands
                        else [],
                    }
                    for name, tried in tries_of(shim)
                ],
            }
            for shim in shims
        ],
    }


def routes(bench: Bench) -> list[Route]:
    """The addresses of this page."""
    return [
        Route("/jobs/{job}/each-shim", lambda request: of_job(bench, request)),
        Route("/dampers/{damper}/each-shim", lambda request: of_damper(bench, request)),
    ]
