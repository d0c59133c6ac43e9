"""A study of a job while it is under way: how far it is, and its end."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from optimiser.bench.bench import Bench
from optimiser.bench.work_folder import WorkKind

ALREADY: Final = "That is being worked out already."


def under_way(bench: Bench, kind: WorkKind, place: str) -> list[Route]:
    """The addresses that stop a study, and tell the page's script how far it is.

    Parameters
    ----------
    bench : the shop.
    kind : of study.
    place : its page, behind the address of the job.
    """

    def stop(request: Request) -> Response:
        name, _ = bench.job(request)
        bench.searches.stop(name, kind)
        return bench.on(f"/jobs/{name}/{place}", "Stopping; what stands is kept.")

    def now(request: Request) -> Response:
        name, _ = bench.job(request)
        standing = bench.searches.standing(name, kind)
        return JSONResponse({"standing": standing, "done": standing is None})

    return [
        Route(f"/jobs/{{job}}/{place}/stop", stop, methods=["POST"]),
        Route(f"/jobs/{{job}}/{place}/now", now),
    ]
