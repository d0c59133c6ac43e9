"""A build held against the dyno: runs before and after it, beside what was promised; the record of it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.actions.measure_build import (
    build_to_measure,
    forget_measured,
    measure_build,
    write_down_measured,
)
from optimiser.bench.bench import Bench, form_of
from optimiser.bench.pages.dyno_page import MOST_FILES, files_there
from optimiser.errors import InputError
from optimiser.ledger.builds import last_done
from optimiser.ledger.measured_builds import measured_builds
from optimiser.model.band_outcome import SURE, BandOutcome
from optimiser.model.percent import percent_text
from optimiser.report.measured_text import record_sentences, verdict
from optimiser.report.plain_outcome import outcome_svg
from optimiser.spread.measured_record import measured_record

SIDES = ("before", "after")


def show(bench: Bench, request: Request) -> Response:
    """The page."""
    return _page(bench, request)


def _page(
    bench: Bench, request: Request, *, only: Sequence[BandOutcome] = (), notes: Sequence[str] = ()
) -> Response:
    """The page with what is in the record, or with what was compared and is not written down."""
    name, _ = bench.job(request)
    built, bands, at, said = False, tuple(only), "", list[str]()
    if bench.has_ledger:
        with bench.looking() as ledger:
            built = last_done(ledger, name) is not None
            every = measured_builds(ledger)
        own = [one for one in every if one.job == name]
        if own and not only:
            bands, at = own[-1].bands, own[-1].at[:10]
        record = measured_record([one.bands for one in every])
        said = [] if record is None else list(record_sentences(record))
    return bench.page(
        request,
        "measured.jinja",
        name=name,
        built=built,
        files=list(files_there(bench)),
        sides=SIDES,
        bands=[_row(band) for band in bands],
        drawing=outcome_svg(bands) if bands else None,
        at=at,
        unwritten=bool(only),
        notes=notes,
        record=said,
    )


def _row(band: BandOutcome) -> dict[str, Any]:
    off = 100 * SURE * band.uncertainty
    low, high = (percent_text(math.expm1(end)).removesuffix(" %") for end in (band.low, band.high))
    return {
        "name": band.name,
        "promised": f"{percent_text(math.expm1(band.predicted))} ({low} to {high})",
        "measured": f"{percent_text(math.expm1(band.measured))} \N{PLUS-MINUS SIGN} {off:.1f}",
        "verdict": verdict(band),
        "inside": band.inside,
    }


def measure(bench: Bench, request: Request) -> Response:
    """Compare, and write it down where both sides were measured."""
    name, path = bench.job(request)
    form, there = form_of(request), files_there(bench)
    before, after = (
        [place for file, place in there.items() if form.get(f"file {file}") == side] for side in SIDES
    )
    if not after or len(before) + len(after) > MOST_FILES:
        raise InputError(
            f"file: got {len(after)} files after the build, expected at least one, and at most {MOST_FILES} "
            "in all."
        )
    if not bench.has_ledger:
        raise InputError("measured: got a shop without books, expected one with a build that is done.")
    with bench.looking() as ledger:
        build = build_to_measure(ledger, name)
        with bench.computing:
            found = measure_build(ledger, path, build, runs=after, earlier=before)
    if found.level_only:
        return _page(bench, request, only=found.bands, notes=found.notes)
    with bench.changing() as ledger:
        if build_to_measure(ledger, name).number != build.number:
            raise InputError(
                "measured: got another build in the meantime, expected the one that was compared."
            )
        write_down_measured(ledger, build, found, (*before, *after))
    words = " ".join(["Written into the record; 'Take it out' takes it back.", *found.notes])
    return bench.on(f"/jobs/{name}/measured", words)


def forget(bench: Bench, request: Request) -> Response:
    """Take it out of the record."""
    name, _ = bench.job(request)
    if not bench.has_ledger:
        raise InputError("measured: got a shop without books, expected one with a build that is done.")
    with bench.changing() as ledger:
        forget_measured(ledger, build_to_measure(ledger, name))
    return bench.on(f"/jobs/{name}/measured", "It is out of the record.")


def routes(bench: Bench) -> list[Route]:
    """The addresses of a measured build."""
    return [
        Route("/jobs/{job}/measured", lambda request: show(bench, request)),
        Route("/jobs/{job}/measured/compare", lambda request: measure(bench, request), methods=["POST"]),
        Route("/jobs/{job}/measured/forget", lambda request: forget(bench, request), methods=["POST"]),
    ]
