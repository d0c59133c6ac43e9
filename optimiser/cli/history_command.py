"""``shimwright history``: for a symptom, the steps that this shop took and what they did."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.model.percent import percent_text

if TYPE_CHECKING:
    from optimiser.ledger.rides import Ride


@click.command("history")
@click.argument("symptom", required=False)
@shop_option
@json_option
def command(symptom: str | None, shop: Path, as_json: bool) -> None:
    """Show what was built and ridden here for SYMPTOM, or for everything, and the first step that follows.

    Example: shimwright history "wallows in long turns"
    """
    from optimiser.files.symptoms_file import vocabulary_of
    from optimiser.intake.own_record import ENOUGH, with_own_record
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.rides import rides, steps_ridden

    table = vocabulary_of(shop)
    row = None if symptom is None else table.symptom(symptom)
    with Ledger.open(shop) as ledger:
        ridden = [ride for ride in rides(ledger) if row is None or ride.band == row.name]
        learned = with_own_record(table, steps_ridden(ledger))
    step = None if row is None else learned.symptom(row.name)
    if as_json:
        document = {
            "format": "shimwright history 1",
            "symptom": None if row is None else row.name,
            "rides": [_keys(one) for one in ridden],
            "first_step_percent": None if step is None else round(100 * step.shift, 2),
        }
        say_json(json.dumps(document, indent=2, ensure_ascii=False))
        return
    for one in ridden:
        say(f"{one.job}: '{one.band}' {percent_text(one.shift)}: {one.words}")
    if not ridden:
        say("Nothing built and ridden for it yet: 'shimwright outcome JOB WORDS' writes a ride down.")
    if step is not None and row is not None:
        if step == row:
            more = f"{ENOUGH} rides that were better replace it."
            say(f"First step: {percent_text(row.shift, 0)}, by the table; {more}")
        else:
            say(step.reason.removeprefix(row.reason).strip())


def _keys(ride: Ride) -> dict[str, str | float]:
    return {
        "job": ride.job,
        "band": ride.band,
        "shift_percent": round(100 * ride.shift, 2),
        "words": ride.words,
    }
