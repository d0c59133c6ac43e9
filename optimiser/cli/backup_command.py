"""``shimwright backup``: a copy of the ledger, taken while benches work."""

from __future__ import annotations

import json
from pathlib import Path

import click

from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json


@click.command("backup")
@click.argument("file", type=click.Path(path_type=Path))
@shop_option
@json_option
def command(file: Path, shop: Path, as_json: bool) -> None:
    """Copy the ledger to a new FILE, whole or not at all, while it is in use.

    To go back to it: shimwright restore FILE.

    Example: shimwright backup ledger_monday.backup
    """
    from optimiser.ledger.backup import backup
    from optimiser.ledger.connection import Ledger

    with Ledger.open(shop) as ledger:
        size = backup(ledger, file)
    if as_json:
        say_json(json.dumps({"file": str(file), "bytes": size}))
    else:
        say(f"Backed up to {file}, {size / 1000:.0f} kB, checked.")
