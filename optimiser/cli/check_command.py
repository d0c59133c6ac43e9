"""``shimwright check``: does the ledger hold together, and if not, what mends it."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import click

from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json


@click.command("check")
@shop_option
@json_option
def command(shop: Path, as_json: bool) -> int:
    """Check the books: every rule of the shop's ledger, and how to mend what does not hold.

    Never writes to the ledger. Files that a killed run left half written in the shop's folder, and two deep
    in the folders in it, are removed. Exit code 0 when all is well, 1 when something was found.

    Example: shimwright check
    """
    from optimiser.ledger.check import clear_abandoned, examine_shop
    from optimiser.ledger.errors import DamagedLedgerError
    from optimiser.ledger.faults import LedgerFault

    for path in clear_abandoned(shop) if shop.is_dir() else ():
        say(f"Removed what a killed run left: {path}", err=True)
    try:
        findings = examine_shop(shop)
    except DamagedLedgerError as error:
        what, _, mend = str(error).partition(". ")
        findings = (LedgerFault(what, mend),)
    if as_json:
        say_json(json.dumps([dataclasses.asdict(finding) for finding in findings], ensure_ascii=False))
    elif not findings:
        say("The ledger is well: pages, sums, reservations, builds and dampers agree.")
    for finding in () if as_json else findings:
        say(f"{finding.what}\n  {finding.mend}")
    return 1 if findings else 0
