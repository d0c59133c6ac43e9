"""What to buy for a job: asked, worked out in the background, listed with its cost."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from damping_model.errors import ModelError
from optimiser.bench.bench import Bench, form_of, whole_number
from optimiser.bench.pages.stack_drawings import drawn_pair, stack_of_document
from optimiser.bench.pages.study_under_way import ALREADY, under_way
from optimiser.bench.pages.study_words import changes_of
from optimiser.bench.search_folder import seen_of
from optimiser.bench.study_folder import StudyAsked
from optimiser.bench.work_folder import SearchState, WorkKind
from optimiser.documents.shop import PiecesDocument, ShopDocument
from optimiser.errors import InputError, ShimwrightError
from optimiser.model.stock import ShimKey
from optimiser.report.shop_text import changes_words

MOST_DRAWN = 3
"""Purchases whose stack is drawn: the best ones."""


def catalogues(bench: Bench) -> dict[str, Path]:
    """Files of what can be bought, beside the shelf, by name."""
    return {path.name: path for path in sorted(bench.shop.glob("catalogue*.csv"))}


def show(bench: Bench, request: Request) -> Response:
    """The page."""
    name, path = bench.job(request)
    folder = bench.searches.study(WorkKind.PURCHASE, name)
    state = folder.state
    found, stale, fault = None, False, folder.fault
    if state is SearchState.DONE:
        try:
            found, stale = _found(folder.result()), folder.asked().seen != seen_of(path)
        except InputError as error:
            fault = str(error)  # the page still has the form that asks again
    return bench.page(
        request,
        "purchase.jinja",
        name=name,
        standing=bench.standing(request, name, WorkKind.PURCHASE),
        state=state,
        fault=fault,
        found=found,
        rows=[] if found is None else list(_rows(bench, path, found)),
        stale=stale,
        alone="" if found is None else _alone(found),
        catalogues=list(catalogues(bench)),
    )


def _found(text: str) -> ShopDocument:
    try:
        return ShopDocument.model_validate_json(text)
    except ValueError:
        raise InputError("buy: the file of it cannot be read. Ask again; that writes it anew.") from None


def _alone(found: ShopDocument) -> str:
    """What the shelf alone can do, in a sentence."""
    shelf = found.shelf_alone
    if shelf.number_of_changes is not None:
        proven = ", proven the fewest" if shelf.status == "proven least" else ""
        return f"The shelf alone: {changes_words(shelf.number_of_changes)}{proven}."
    if shelf.status == "proven impossible":
        most = changes_words(shelf.most_changes)
        return f"The shelf alone: proven that no stack with at most {most} reaches the goal."
    return "The shelf alone: nothing was found in its share of the time."


def _rows(bench: Bench, path: Path, found: ShopDocument) -> Iterator[dict[str, Any]]:
    try:
        mounted = bench.subject(path).mounted
    except (ShimwrightError, ModelError):
        mounted = None  # the job's page says what is wrong with its files
    for one in found.purchases:
        pair = None
        if mounted is not None and one.rank <= MOST_DRAWN and one.stack:
            pair = drawn_pair(mounted, stack_of_document(one.stack))
        yield {
            "rank": one.rank,
            "buy": [_bought(piece) for piece in one.buy],
            "cost": "no price" if one.cost is None else f"{one.cost:.2f}",
            "changes": changes_words(one.number_of_changes),
            "saved": one.changes_saved,
            "by": changes_of(one.changes),
            "miss": f"{one.miss_percent:.1f} %",
            "elsewhere": f"{one.change_elsewhere_percent:.1f} %",
            "drawn": pair,
        }


def _bought(piece: PiecesDocument) -> str:
    key = ShimKey.from_millimetres(
        outer=piece.outer_diameter_mm, thickness=piece.thickness_mm, inner=piece.inner_diameter_mm
    )
    packs = f"{piece.packs} {'pack' if piece.packs == 1 else 'packs'}"
    label = f", {piece.label}" if piece.label else ""
    return f"{piece.count} of {key} ({packs}{label})"


def ask(bench: Bench, request: Request) -> Response:
    """Begin to work it out."""
    name, path = bench.job(request)
    form = form_of(request)
    known, typed = catalogues(bench), form.get("catalogue", "")
    if typed not in known:
        raise InputError(f"catalogue: got {typed[:60]!r}, expected a catalogue in the shop's folder.")
    asked = StudyAsked(
        job=path,
        most=whole_number(form, "types", least=1, most=2),
        seconds=float(whole_number(form, "seconds", least=5, most=3600)),
        catalogue=str(known[typed]),
        seen=seen_of(path),
    )
    began = bench.searches.ask_study(WorkKind.PURCHASE, name, asked)
    return bench.on(f"/jobs/{name}/buy", "" if began else ALREADY)


def routes(bench: Bench) -> list[Route]:
    """The addresses of a purchase."""
    return [
        Route("/jobs/{job}/buy", lambda request: show(bench, request)),
        Route("/jobs/{job}/buy/ask", lambda request: ask(bench, request), methods=["POST"]),
        *under_way(bench, WorkKind.PURCHASE, "buy"),
    ]
