"""The record: every step of the books, which can be taken back, and what rides showed."""

from __future__ import annotations

import math

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.actions.damper_on_file import bring_up_to_date
from optimiser.bench.bench import Bench, form_of, whole_number
from optimiser.ledger.measured_builds import measured_builds
from optimiser.ledger.once import once
from optimiser.ledger.rides import no_longer_counts, rides
from optimiser.ledger.undo import past_operations, taken_back_by, undo_step
from optimiser.model.percent import percent_text

MOST_STEPS = 60


def show(bench: Bench, request: Request) -> Response:
    """The page."""
    if not bench.has_ledger:
        return bench.page(request, "record.jinja", books=False, past=(), ridden=[], measured=())
    with bench.looking() as ledger:
        past = past_operations(ledger, most=MOST_STEPS)
        ridden = rides(ledger)
        measured = measured_builds(ledger)
    return bench.page(
        request,
        "record.jinja",
        books=True,
        past=past,
        ridden=[
            {"job": one.job, "band": one.band, "shift": percent_text(one.shift), "words": one.words}
            for one in reversed(ridden)
        ],
        measured=[
            {
                "job": one.job,
                "damper": one.damper,
                "at": one.at[:10],
                "bands": [
                    {
                        "name": band.name,
                        "promised": percent_text(math.expm1(band.predicted)),
                        "measured": percent_text(math.expm1(band.measured)),
                    }
                    for band in one.bands
                ],
            }
            for one in reversed(measured)
        ],
    )


def undo(bench: Bench, request: Request) -> Response:
    """Take a step back, once however often the form is sent."""
    form = form_of(request)
    step = whole_number(form, "step", least=1, most=10**9)
    with bench.changing() as ledger:
        done = once(
            ledger, form.get("once") or None, ("undo", step), "operation", lambda: undo_step(ledger, step)
        )
        gone = taken_back_by(ledger, done.number)
        filed = [] if gone.job is None else list(bring_up_to_date(ledger, bench.shop, gone.job))
        ridden = no_longer_counts(ledger, gone.number)
    words = [f"Step {gone.number} is taken back.", *(note.words for note in filed), *filter(None, [ridden])]
    return bench.on("/record", " ".join(words), bad=any(note.failed for note in filed))


def routes(bench: Bench) -> list[Route]:
    """The addresses of the record."""
    return [
        Route("/record", lambda request: show(bench, request)),
        Route("/record/undo", lambda request: undo(bench, request), methods=["POST"]),
    ]
