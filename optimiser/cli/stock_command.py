"""``shimwright stock``: what is on the shelf, what comes, what goes, what to buy."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.ledger_options import hole_option, reason_option, shop_option, type_keys, with_hole
from optimiser.cli.options import json_option
from optimiser.errors import InputError

if TYPE_CHECKING:
    from optimiser.ledger.shelf_changes import ShelfDifferences

MANY = click.IntRange(1, 100_000)


@click.group("stock")
def command() -> None:
    """Keep the shelf: import and export, list, receive, count, scrap, find and reorder.

    A TYPE is outer diameter x thickness in mm, as on the drawer: 20x0.15.

    Example: shimwright stock list
    """


@command.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--write", is_flag=True, help="Do it; without this, only show what would change.")
@shop_option
@json_option
def import_(file: Path, write: bool, shop: Path, as_json: bool) -> None:
    """Take counts, drawers, labels and low marks from a CSV FILE; types it does not name stay.

    Shows first, line by line, what would change. The first import starts the shop's ledger.

    Example: shimwright stock import shelf.csv --write
    """
    from optimiser.files.shelf import read_shelf
    from optimiser.ledger.connection import Ledger, ledger_in
    from optimiser.ledger.shelf_changes import compare, compare_with_nothing, import_shelf

    shelf = read_shelf(file)
    if not write and not ledger_in(shop):
        _show_differences(compare_with_nothing(shelf), words=True, written=False, as_json=as_json)
        return
    with Ledger.open(shop, create=write) as ledger:
        found = (
            import_shelf(ledger, shelf, reason=f"import of {file.name}") if write else compare(ledger, shelf)
        )
    _show_differences(found, words=True, written=write, as_json=as_json)


@command.command("count")
@click.argument("kind", metavar="[TYPE]", required=False)
@click.argument("number", metavar="[NUMBER]", type=click.IntRange(0, 100_000), required=False)
@click.option("--file", type=click.Path(path_type=Path), help="A whole stock-take as a CSV file instead.")
@click.option("--write", is_flag=True, help="With --file: do it; without this, only show the differences.")
@hole_option
@reason_option("stock-take")
@shop_option
@json_option
def count(
    kind: str | None,
    number: int | None,
    file: Path | None,
    write: bool,
    hole_mm: float | None,
    reason: str,
    shop: Path,
    as_json: bool,
) -> None:
    """Set counts right: of one TYPE at once, or of a whole stock-take with --file.

    Only counts change; drawers, labels and low marks stay.

    Example: shimwright stock count 20x0.15 7
    """
    from optimiser.files.shelf import read_shelf
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.shelf_changes import compare, count_shelf, count_type
    from optimiser.ledger.type_names import find_type

    if (file is None) != (kind is not None and number is not None) or (file and kind):
        raise InputError("stock count: expected either TYPE and NUMBER, or --file FILE. Give one of the two.")
    if write and file is None:
        raise InputError("stock count: --write belongs to --file; one TYPE is counted at once. Leave it out.")
    if file is not None:
        shelf = read_shelf(file)
        with Ledger.open(shop) as ledger:
            found = count_shelf(ledger, shelf, reason=reason) if write else compare(ledger, shelf)
        _show_differences(found, words=False, written=write, as_json=as_json)
        return
    with Ledger.open(shop) as ledger:
        key = find_type(ledger, kind or "", hole_mm=hole_mm, new=True)
        change = count_type(ledger, key, number or 0, reason=reason)
    if as_json:
        click.echo(json.dumps({**type_keys(key), "count": number, "change": change}))
    else:
        click.echo(f"{with_hole(key)}: {number} on the shelf, {change:+d} against the ledger.")


@command.command("export")
@click.option(
    "--out", type=click.Path(path_type=Path, dir_okay=False), help="Write here instead of to the screen."
)
@shop_option
@json_option
def export(out: Path | None, shop: Path, as_json: bool) -> None:
    """Write the shelf as CSV, which 'stock import' and job files read.

    Example: shimwright stock export --out shelf.csv
    """
    from optimiser.files.shelf import shelf_text
    from optimiser.files.writing import write_whole
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.levels import shelf_levels

    with Ledger.open(shop) as ledger:
        levels = shelf_levels(ledger)
    text = shelf_text(level.row for level in levels)
    if out is not None:
        write_whole(out, text)
        text = f"{len(levels)} types written to {out}.\n"
    if as_json:
        text = json.dumps({"types": len(levels), "file": str(out) if out else None}) + "\n"
    click.echo(text, nl=False)


@command.command("list")
@click.option("--low", "only_low", is_flag=True, help="Only what is low.")
@shop_option
@json_option
def list_(only_low: bool, shop: Path, as_json: bool) -> None:
    """List what is on the shelf, what is promised to jobs, and what is low.

    Example: shimwright stock list --low
    """
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.levels import shelf_levels

    with Ledger.open(shop) as ledger:
        levels = [level for level in shelf_levels(ledger) if level.low or not only_low]
    if as_json:
        rows = [
            type_keys(level.key)
            | {"shelf": level.shelf, "reserved": level.reserved, "free": level.free, "low": level.low}
            | {"drawer": level.drawer, "label": level.label, "low_at": level.low_at}
            for level in levels
        ]
        click.echo(json.dumps({"format": "shimwright stock 1", "types": rows}, ensure_ascii=False))
        return
    from optimiser.cli.plain_table import show_table

    show_table(
        ("Type", "Hole", "Shelf", "Promised", "Free", "", "Drawer", "Label"),
        [
            (
                str(level.key),
                f"{level.key.inner / 1000:g}",
                str(level.shelf),
                str(level.reserved or ""),
                str(level.free),
                "LOW" if level.low else "",
                level.drawer,
                level.label,
            )
            for level in levels
        ],
        numbers=(1, 2, 3, 4),
        empty="Nothing is low." if only_low else "The shelf is empty. Start with 'shimwright stock import'.",
    )


@command.command("receive")
@click.argument("kind", metavar="TYPE")
@click.argument("number", type=MANY)
@hole_option
@reason_option("delivery")
@shop_option
@json_option
def receive(kind: str, number: int, hole_mm: float | None, reason: str, shop: Path, as_json: bool) -> None:
    """Put NUMBER new shims of a TYPE on the shelf.

    Example: shimwright stock receive 20x0.15 10 --reason "invoice 12"
    """
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.shelf_changes import receive as put_in
    from optimiser.ledger.type_names import find_type

    with Ledger.open(shop) as ledger:
        key = find_type(ledger, kind, hole_mm=hole_mm, new=True)
        step = put_in(ledger, key, number, reason=reason)
    _say_step(step, f"{with_hole(key)}: {number} received.", as_json=as_json)


@command.command("scrap")
@click.argument("kind", metavar="TYPE")
@click.argument("number", type=MANY)
@hole_option
@reason_option("bent or marked")
@shop_option
@json_option
def scrap(kind: str, number: int, hole_mm: float | None, reason: str, shop: Path, as_json: bool) -> None:
    """Take NUMBER bent or marked shims of a TYPE off the shelf for good.

    Example: shimwright stock scrap 20x0.15 1
    """
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.shelf_changes import scrap as throw_away
    from optimiser.ledger.type_names import find_type

    with Ledger.open(shop) as ledger:
        key = find_type(ledger, kind, hole_mm=hole_mm)
        step = throw_away(ledger, key, number, reason=reason)
    _say_step(step, f"{with_hole(key)}: {number} scrapped.", as_json=as_json)


@command.command("where")
@click.argument("kind", metavar="[TYPE]", required=False)
@hole_option
@shop_option
@json_option
def where(kind: str | None, hole_mm: float | None, shop: Path, as_json: bool) -> None:
    """Show which dampers and which jobs have shims of a TYPE, or of every type.

    Example: shimwright stock where 20x0.15
    """
    from optimiser.cli.plain_table import show_table
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.type_names import find_type
    from optimiser.ledger.usage import where_used

    with Ledger.open(shop) as ledger:
        key = None if kind is None else find_type(ledger, kind, hole_mm=hole_mm)
        places = where_used(ledger, key)
    if as_json:
        rows = [type_keys(p.key) | {"count": p.count, "how": p.how, "where": p.where} for p in places]
        click.echo(json.dumps({"format": "shimwright places 1", "places": rows}, ensure_ascii=False))
        return
    show_table(
        ("Type", "Hole", "Count", "How", "Where"),
        [(str(p.key), f"{p.key.inner / 1000:g}", str(p.count), p.how, p.where) for p in places],
        numbers=(1, 2),
        empty="No damper and no job in the ledger has it.",
    )


@command.command("reorder")
@click.option(
    "--days", type=click.IntRange(1, 3650), default=90, show_default=True, help="How far to look back."
)
@shop_option
@json_option
def reorder(days: int, shop: Path, as_json: bool) -> None:
    """Show what to buy, so that the shelf lasts as long again as the jobs of the last DAYS took.

    Common practice, no source: recent jobs are the best guess at the next ones.

    Example: shimwright stock reorder --days 60
    """
    from datetime import UTC, datetime, timedelta

    from optimiser.cli.plain_table import show_table
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.usage import reorder as wanted

    since = (datetime.now(UTC) - timedelta(days=days)).isoformat(timespec="seconds")
    with Ledger.open(shop) as ledger:
        found = wanted(ledger, since=since)
    if as_json:
        rows = [
            type_keys(r.level.key) | {"used": r.used, "jobs": r.jobs, "free": r.level.free, "buy": r.buy}
            for r in found
        ]
        click.echo(json.dumps({"format": "shimwright reorder 1", "days": days, "types": rows}))
        return
    show_table(
        ("Type", "Hole", "Used", "In jobs", "Free", "Low at", "Buy"),
        [
            (
                str(r.level.key),
                f"{r.level.key.inner / 1000:g}",
                str(r.used),
                str(r.jobs),
                str(r.level.free),
                "" if r.level.low_at is None else str(r.level.low_at),
                str(r.buy),
            )
            for r in found
        ],
        numbers=(1, 2, 3, 4, 5, 6),
        empty=f"Nothing to buy: the shelf covers what the last {days} days took.",
    )


def _say_step(step: int, text: str, *, as_json: bool) -> None:
    click.echo(json.dumps({"step": step}) if as_json else f"{text} Wrong? shimwright undo {step}")


def _show_differences(found: ShelfDifferences, *, words: bool, written: bool, as_json: bool) -> None:
    from optimiser.cli.shelf_differences import show_differences

    show_differences(found, words=words, written=written, as_json=as_json)
