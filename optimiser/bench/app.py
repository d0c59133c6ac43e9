"""The pages put together behind their wall, and what is answered when something is refused."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Collection, Iterable
from contextlib import asynccontextmanager
from functools import partial
from importlib.resources import files
from typing import Any, Final

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from damping_model.errors import ModelError
from optimiser.bench.access import Access, App, Visitor
from optimiser.bench.bench import Bench, NothingThereError
from optimiser.bench.fingerprint import fingerprint_of_all
from optimiser.bench.pages import (
    answer_page,
    build_page,
    counter_page,
    damper_page,
    day_page,
    doors_page,
    dyno_page,
    each_shim_page,
    fit_page,
    job_page,
    measured_page,
    purchase_page,
    reach_page,
    record_page,
    share_out_page,
    stock_page,
    what_if_page,
)
from optimiser.bench.refusals import Refusal
from optimiser.errors import ShimwrightError
from optimiser.ledger.errors import LedgerError

OWN: Final = ("optimiser.bench", "templates")

LOOKS: Final = {
    "bench.css": ("text/css; charset=utf-8", (("optimiser.report", "drawings.css"), (*OWN, "bench.css"))),
    "bench.js": ("text/javascript; charset=utf-8", ((*OWN, "bench.js"),)),
    "bench.svg": ("image/svg+xml", ((*OWN, "bench.svg"),)),
}
"""What pages look and move by: its kind, and the files that it is put together from."""

LOG: Final = logging.getLogger("shimwright.bench")


def bench_app(bench: Bench, *, hosts: Collection[str], cookie: str) -> App:
    """The whole page as an ASGI application.

    Parameters
    ----------
    bench : the shop.
    hosts : names with port that it is served under.
    cookie : what a session is kept as.
    """

    @asynccontextmanager
    async def life(_app: Starlette) -> Any:
        bench.searches.start()
        yield
        bench.searches.close()

    def refused(request: Request, status: int, words: str, title: str = "That did not work") -> Response:
        return bench.page(request, "refused.jinja", status=status, title=title, words=words)

    def input_refused(request: Request, error: Exception) -> Response:
        return refused(request, 404 if isinstance(error, NothingThereError) else 422, str(error))

    def ledger_refused(request: Request, error: Exception) -> Response:
        return refused(request, 409, str(error))

    def not_there(request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 404
        return refused(request, status, "There is no such page.", "Nothing here")

    def broken(request: Request, error: Exception) -> Response:
        LOG.error("a fault in a page", exc_info=error)
        words = "A fault in shimwright, and not in your files. What stood in the books still stands."
        return refused(request, 500, words, "A fault")

    app = Starlette(
        routes=[
            *(Route(f"/{name}", _look(kind, places)) for name, (kind, places) in LOOKS.items()),
            *doors_page.routes(bench, cookie=cookie),
            *day_page.routes(bench),
            *counter_page.routes(bench),
            *what_if_page.routes(bench),
            *each_shim_page.routes(bench),
            *answer_page.routes(bench),
            *build_page.routes(bench),
            *reach_page.routes(bench),
            *purchase_page.routes(bench),
            *measured_page.routes(bench),
            *job_page.routes(bench),
            *share_out_page.routes(bench),
            *stock_page.routes(bench),
            *dyno_page.routes(bench),
            *fit_page.routes(bench),
            *damper_page.routes(bench),
            *record_page.routes(bench),
        ],
        exception_handlers={
            LedgerError: ledger_refused,
            ShimwrightError: input_refused,
            ModelError: input_refused,
            HTTPException: not_there,
            Exception: broken,
        },
        lifespan=life,
    )
    app.router.redirect_slashes = False

    def refuse(refusal: Refusal, visitor: Visitor) -> App:
        async def answer(scope: Any, receive: Any, send: Any) -> None:
            scope["visitor"] = visitor
            page = refused(Request(scope), refusal.status, refusal.words, "Not here")
            await page(scope, receive, send)

        return answer

    return Access(
        app,
        refuse=refuse,
        doors=bench.doors,
        hosts=hosts,
        cookie=cookie,
        fingerprint=partial(fingerprint_of_all, bench.shop),
    )


def _look(kind: str, places: Iterable[tuple[str, ...]]) -> Any:
    text = "".join(files(package).joinpath(*path).read_text(encoding="utf-8") for package, *path in places)

    tag = f'"{hashlib.sha256(text.encode()).hexdigest()[:20]}"'
    headers = {"content-type": kind, "cache-control": "no-cache", "etag": tag}

    def answer(request: Request) -> Response:
        if request.headers.get("if-none-match") == tag:
            return Response(status_code=304, headers=headers)
        return Response(text, headers=headers)

    return answer
