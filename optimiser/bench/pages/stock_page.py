"""The stock: what is on the shelf, free and low; what comes, goes and is counted."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from optimiser.bench.bench import Bench, form_of, whole_number
from optimiser.errors import InputError
from optimiser.files.shelf import read_shelf
from optimiser.ledger.levels import StockLevel, shelf_levels
from optimiser.ledger.once import once
from optimiser.ledger.shelf_changes import count_type, import_shelf, receive, scrap
from optimiser.ledger.type_names import find_type

MOST_SHIMS = 100_000
USUAL_REASON = {"receive": "delivery", "scrap": "bent or marked", "count": "stock-take"}


def show(bench: Bench, request: Request) -> Response:
    """The page."""
    levels: tuple[StockLevel, ...] = ()
    if bench.has_ledger:
        with bench.looking() as ledger:
            levels = shelf_levels(ledger)
    only_low = request.query_params.get("low") == "yes"
    find = request.query_params.get("find", "").strip()[:40]
    shelves = sorted(path.name for path in bench.shop.glob("shelf*.csv"))
    return bench.page(
        request,
        "stock.jinja",
        levels=[level for level in levels if (level.low or not only_low) and _is_found(level, find)],
        types=[str(level.key) for level in levels],
        only_low=only_low,
        find=find,
        books=bench.has_ledger,
        shelves=shelves,
    )


def _is_found(level: StockLevel, find: str) -> bool:
    """Whether a type begins as is asked, or lies in that drawer."""
    asked = find.lower().replace(",", ".")
    return str(level.key).startswith(asked) or level.drawer.lower() == asked


def move(bench: Bench, request: Request) -> Response:
    """Shims come, go, or are counted; once, however often the form is sent."""
    form = form_of(request)
    what, kind = form.get("do", ""), form.get("kind", "").strip()
    if what not in USUAL_REASON:
        raise InputError(f"do: got {what[:40]!r}, expected receive, scrap or count.")
    number = whole_number(form, "number", least=0 if what == "count" else 1, most=MOST_SHIMS)
    reason = form.get("reason", "").strip()[:200] or USUAL_REASON[what]
    hole = form.get("hole", "").strip()
    try:
        hole_mm = float(hole) if hole else None
    except ValueError:
        raise InputError(f"hole: got {hole[:20]!r}, expected a diameter in mm, or nothing.") from None
    with bench.changing() as ledger:
        try:
            key = find_type(ledger, kind, hole_mm=hole_mm, new=what != "scrap")
        except InputError as error:  # in the words of this page's form
            raise InputError(str(error).replace("with --hole", "under 'Hole in mm'")) from None
        if what == "count":
            change = count_type(ledger, key, number, reason=reason)
            return bench.on("/stock", f"{key}: {number} on the shelf, {change:+d} against the books.")
        step = receive if what == "receive" else scrap
        done = once(
            ledger,
            form.get("once") or None,
            (what, str(key), key.inner, number, reason),
            "operation",
            lambda: step(ledger, key, number, reason=reason),
        )
    if done.before is not None:
        return bench.on("/stock", "That was written down already; nothing is done again.")
    said = "received" if what == "receive" else "scrapped"
    return bench.on("/stock", f"{key}: {number} {said}, step {done.number}. The record takes it back.")


def begin(bench: Bench, request: Request) -> Response:
    """Begin the books from a shelf's file."""
    name = form_of(request).get("shelf", "")
    found = {path.name: path for path in bench.shop.glob("shelf*.csv")}
    if bench.has_ledger:
        raise InputError("stock: got a shop with books, expected one without. Count or receive instead.")
    if name not in found:
        raise InputError(f"shelf: got {name[:60]!r}, expected a shelf's file in the shop's folder.")
    shelf = read_shelf(found[name])
    with bench.beginning() as ledger:
        import_shelf(ledger, shelf, reason=f"import of {name}")
    return bench.on("/stock", f"The books begin with {name}.")


def routes(bench: Bench) -> list[Route]:
    """The addresses of the stock."""
    return [
        Route("/stock", lambda request: show(bench, request)),
        Route("/stock/move", lambda request: move(bench, request), methods=["POST"]),
        Route("/stock/begin", lambda request: begin(bench, request), methods=["POST"]),
    ]
