"""``shimwright stock``: what comes to the shelf and what goes; the lists are in :mod:`.stock_lists`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

import click

from optimiser.cli.ledger_options import (
    already,
    hole_option,
    once_option,
    reason_option,
    shop_option,
    type_keys,
    with_hole,
)
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.cli.stock_lists import export, list_, reorder, where
from optimiser.cli.stock_measure import measure
from optimiser.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

    from optimiser.ledger.shelf_changes import ShelfDifferences

NUMBER_OF_SHIMS = click.IntRange(1, 100_000)
NUMBER_OF_SHIMS.name = "whole number of shims"


@click.group("stock")
def command() -> None:
    """Keep the shelf: import and export, list, receive, count, measure, scrap, find and reorder.

    A TYPE is outer diameter x thickness in mm, as on the drawer: 20x0.15.

    Example: shimwright stock list
    """


command.add_command(export)
command.add_command(list_)
command.add_command(where)
command.add_command(reorder)
command.add_command(measure)


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
        say_json(json.dumps({**type_keys(key), "count": number, "change": change}))
    else:
        say(f"{with_hole(key)}: {number} on the shelf, {change:+d} against the ledger.")


def _of_shims(reason: str) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """What every step that moves shims of a type is asked for, with the usual reason for it."""

    def asked(step: Callable[..., None]) -> Callable[..., None]:
        kind = click.argument("kind", metavar="TYPE")
        number = click.argument("number", type=NUMBER_OF_SHIMS)
        for one in (json_option, shop_option, once_option, reason_option(reason), hole_option, number, kind):
            step = one(step)
        return step

    return asked


@command.command("receive")
@_of_shims("delivery")
def receive(**asked: Any) -> None:
    """Put NUMBER new shims of a TYPE on the shelf.

    Example: shimwright stock receive 20x0.15 10 --reason "invoice 12"
    """
    from optimiser.ledger.shelf_changes import receive as put_in

    _step("receive", put_in, **asked)


@command.command("scrap")
@_of_shims("bent or marked")
def scrap(**asked: Any) -> None:
    """Take NUMBER bent or marked shims of a TYPE off the shelf for good.

    Example: shimwright stock scrap 20x0.15 1
    """
    from optimiser.ledger.shelf_changes import scrap as throw_away

    _step("scrap", throw_away, **asked)


def _step(
    name: Literal["receive", "scrap"],
    move: Callable[..., int],
    *,
    kind: str,
    number: int,
    hole_mm: float | None,
    reason: str,
    identity: str | None,
    shop: Path,
    as_json: bool,
) -> None:
    """Move shims of a type, once, and say so; the same step a moment before is named, it may be a slip."""
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.once import once
    from optimiser.ledger.type_names import find_type
    from optimiser.ledger.undo import same_before

    with Ledger.open(shop) as ledger:
        key = find_type(ledger, kind, hole_mm=hole_mm, new=name == "receive")
        asked = (name, str(key), key.inner, number, reason)
        done = once(ledger, identity, asked, "operation", lambda: move(ledger, key, number, reason=reason))
        same = same_before(ledger, done.number)
    if as_json:
        say_json(json.dumps({"step": done.number, "again": done.before is not None}))
    elif done.before is not None:
        say(already(done, what=f"step {done.number}"))
    else:
        say(f"{with_hole(key)}: {number} {_DONE[name]}. Wrong? shimwright undo {done.number}")
        if same is not None:
            say(f"Step {same.number} at {same.at[11:16]} UTC was the same, and both stand.")


_DONE: Final = {"receive": "received", "scrap": "scrapped"}


def _show_differences(found: ShelfDifferences, *, words: bool, written: bool, as_json: bool) -> None:
    from optimiser.cli.shelf_differences import show_differences

    show_differences(found, words=words, written=written, as_json=as_json)
