"""``shimwright restore``: go back to a backup, with what was there set aside."""

from __future__ import annotations

import json
from pathlib import Path

import click

from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json


@click.command("restore")
@click.argument("file", type=click.Path(path_type=Path))
@shop_option
@json_option
def command(file: Path, shop: Path, as_json: bool) -> None:
    """Put the backup FILE in the ledger's place, checked first, in one step.

    The ledger from before and its log are set aside beside it, and FILE stays. Never copy a backup over the
    ledger by hand: the log of the old one, which a crash leaves, would be added to it.

    Example: shimwright restore ledger_monday.backup
    """
    from optimiser.ledger.restore import restore

    done = restore(shop, file)
    if as_json:
        step = None if done.last_step is None else done.last_step[0]
        aside = None if done.aside is None else str(done.aside)
        say_json(json.dumps({"file": str(file), "aside": aside, "last_step": step}, ensure_ascii=False))
        return
    held = "no step" if done.last_step is None else f"step {done.last_step[0]} of {done.last_step[1][:10]}"
    say(f"The ledger is {file} again, checked; the last it holds is {held}.")
    if done.aside is not None:
        say(f"The one from before is {done.aside}. Count the drawers that changed since.")
