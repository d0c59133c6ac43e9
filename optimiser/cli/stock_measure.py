"""``shimwright stock measure``: what a micrometer reads on the shims of a type."""

from __future__ import annotations

import json
from pathlib import Path

import click

from optimiser.cli.ledger_options import hole_option, shop_option, type_keys, with_hole
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError


@click.command("measure")
@click.argument("kind", metavar="TYPE")
@click.argument("readings", nargs=-1)
@hole_option
@shop_option
@json_option
def measure(kind: str, readings: tuple[str, ...], hole_mm: float | None, shop: Path, as_json: bool) -> None:
    """Write down what a micrometer READS on free shims of a TYPE, in mm, in place of what was there.

    Each shim gets one reading: '0.103', or '2 of 0.099' for two alike; shims that are not named are not read.
    A plan then says which shims of a type to take, and with --measured it plans with what is in the hand.
    Without readings, those of the type are forgotten.

    Example: shimwright stock measure 20x0.10 "0.103; 2 of 0.099"
    """
    from optimiser.files.micrometer import readings_from_text, readings_text
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.shelf_changes import note_readings
    from optimiser.ledger.type_names import find_type

    with Ledger.open(shop) as ledger:
        key = find_type(ledger, kind, hole_mm=hole_mm)
        try:
            read = readings_from_text(" ".join(readings), nominal=key.thickness)
        except ValueError as error:
            raise InputError(f"stock measure: expected {error}") from None
        step = note_readings(ledger, key, read, reason="measured")
    if as_json:
        document = type_keys(key) | {"step": step, "readings_mm": [one / 1000 for one in read]}
        say_json(json.dumps(document))
        return
    told = f"{len(read)} measured: {readings_text(read)} mm" if read else "readings forgotten"
    say(f"{with_hole(key)}: {told}. Wrong? shimwright undo {step}")
