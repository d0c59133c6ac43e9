"""The lists of ``shimwright stock``: what is on the shelf, as a table or a file, where it is, what to buy."""

from __future__ import annotations

import json
from pathlib import Path

import click

from optimiser.cli.ledger_options import hole_option, shop_option, type_keys
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.files.micrometer import measured_words


@click.command("export")
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
    say(text, nl=False)


@click.command("list")
@click.option("--low", "only_low", is_flag=True, help="Only what is low.")
@shop_option
@json_option
def list_(only_low: bool, shop: Path, as_json: bool) -> None:
    """List what is on the shelf, what is reserved for jobs, and what is low.

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
            | {"readings_mm": [reading / 1000 for reading in level.readings]}
            for level in levels
        ]
        say_json(json.dumps({"format": "shimwright stock 1", "types": rows}, ensure_ascii=False))
        return
    from optimiser.cli.plain_table import show_table

    read = any(level.noted for level in levels)
    show_table(
        (
            "Type",
            "Hole",
            "Shelf",
            "Reserved",
            "Free",
            "",
            "Drawer",
            "Label",
            *["Measured"] * read,
        ),
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
                *[measured_words(level.readings, noted=len(level.noted))] * read,
            )
            for level in levels
        ],
        numbers=(1, 2, 3, 4),
        empty="Nothing is low." if only_low else "The shelf is empty. Start with 'shimwright stock import'.",
    )


@click.command("where")
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
        say_json(json.dumps({"format": "shimwright places 1", "places": rows}, ensure_ascii=False))
        return
    show_table(
        ("Type", "Hole", "Count", "How", "Where"),
        [(str(p.key), f"{p.key.inner / 1000:g}", str(p.count), p.how, p.where) for p in places],
        numbers=(1, 2),
        empty="No damper and no job in the ledger has it.",
    )


@click.command("reorder")
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
        say_json(json.dumps({"format": "shimwright reorder 1", "days": days, "types": rows}))
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
