"""After the plan: what was reserved is fitted or put back, and the ride is written down."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.actions.damper_on_file import bring_up_to_date
from optimiser.bench.bench import Bench, form_of, whole_number
from optimiser.errors import InputError
from optimiser.ledger import builds
from optimiser.ledger.jobs import record_outcome
from optimiser.ledger.once import once

LONGEST_WORDS = 2000


def done(bench: Bench, request: Request) -> Response:
    """What was reserved is fitted; what came out goes back, or to the bin."""
    name, _ = bench.job(request)
    form = form_of(request)
    with bench.changing() as ledger:
        standing = builds.open_build(ledger, name)
        out = {} if standing is None else standing.returned
        bent = {
            key: count
            for place, (key, most) in enumerate(sorted(out.items(), reverse=True))
            if (count := whole_number(form, f"bent{place}", least=0, most=most))
        }
        builds.done(ledger, name, scrapped=bent)
        filed = list(bring_up_to_date(ledger, bench.shop, name))
    words = " ".join(["Fitted, and what came out is put back.", *(note.words for note in filed)])
    return bench.on(f"/jobs/{name}", words, bad=any(note.failed for note in filed))


def release(bench: Bench, request: Request) -> Response:
    """What was reserved is free again."""
    name, _ = bench.job(request)
    reason = form_of(request).get("reason", "").strip()[:200] or "put back"
    with bench.changing() as ledger:
        builds.release(ledger, name, reason=reason)
    return bench.on(f"/jobs/{name}", "Put back; the shims are free again.")


def outcome(bench: Bench, request: Request) -> Response:
    """What the ride showed is written down, once however often the form is sent."""
    name, _ = bench.job(request)
    form = form_of(request)
    verdict, words = form.get("verdict", ""), form.get("words", "").strip()
    if verdict not in {"", "better", "same", "worse"}:
        raise InputError(f"verdict: got {verdict[:40]!r}, expected better, same or worse.")
    said = f"{verdict}: {words}" if verdict and words else verdict or words
    if not said or len(said) > LONGEST_WORDS:
        raise InputError(
            f"words: got {len(said)} letters, expected what the ride showed in up to {LONGEST_WORDS}."
        )
    with bench.changing() as ledger:
        once(
            ledger,
            form.get("once") or None,
            ("outcome", name, said),
            "outcome",
            lambda: record_outcome(ledger, name, said),
        )
    return bench.on(f"/jobs/{name}", "The ride is written down.")


def routes(bench: Bench) -> list[Route]:
    """The addresses of these steps."""
    return [
        Route("/jobs/{job}/done", lambda request: done(bench, request), methods=["POST"]),
        Route("/jobs/{job}/release", lambda request: release(bench, request), methods=["POST"]),
        Route("/jobs/{job}/ride", lambda request: outcome(bench, request), methods=["POST"]),
    ]
