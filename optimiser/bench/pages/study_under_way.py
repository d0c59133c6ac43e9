"""Work in the background while it is under way: how far it is, and its end."""

from __future__ import annotations

from typing import Final

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from optimiser.bench.bench import Bench
from optimiser.bench.work_folder import WorkKind

ALREADY: Final = "That is being worked out already."


def under_way(bench: Bench, kind: WorkKind, place: str) -> list[Route]:
    """The addresses that stop work, and tell the page's script how far it is.

    Parameters
    ----------
    bench : the shop.
    kind : of work.
    place : its page, behind the address of the job or the damper.
    """
    of_damper = kind is WorkKind.FIT
    whose = "dampers" if of_damper else "jobs"

    def named(request: Request) -> str:
        name, _ = bench.damper(request) if of_damper else bench.job(request)
        return name

    def stop(request: Request) -> Response:
        name = named(request)
        bench.searches.stop(name, kind)
        said = "Stopping; nothing is kept." if of_damper else "Stopping; what stands is kept."
        return bench.on(f"/{whose}/{name}/{place}", said)

    def now(request: Request) -> Response:
        standing = bench.standing(request, named(request), kind)
        return JSONResponse({"standing": standing, "done": standing is None})

    address = f"/{whose}/{{{whose[:-1]}}}/{place}"
    return [
        Route(f"{address}/stop", stop, methods=["POST"]),
        Route(f"{address}/now", now),
    ]
