"""``shimwright outcome``: what the ride showed."""

from __future__ import annotations

import json
from pathlib import Path

import click

from optimiser.actions.job_places import job_name
from optimiser.cli.ledger_options import already, once_option, shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError


@click.command("outcome")
@click.argument("job")
@click.argument("words")
@once_option
@shop_option
@json_option
def command(job: str, words: str, identity: str | None, shop: Path, as_json: bool) -> None:
    """Write down in WORDS what the ride after JOB showed; 'person show' reads it back.

    Example: shimwright outcome a_more_support "Stands up in the turn, edges as before."
    """
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.jobs import record_outcome
    from optimiser.ledger.once import once

    if not words.strip():
        raise InputError("WORDS: got nothing, expected what the ride showed. Put it in quotes.")
    name, said = job_name(job), words.strip()
    with Ledger.open(shop) as ledger:
        done = once(
            ledger, identity, ("outcome", name, said), "outcome", lambda: record_outcome(ledger, name, said)
        )
    if as_json:
        say_json(json.dumps({"job": name, "again": done.before is not None}))
    else:
        again = already(done, what=f"an outcome of {name}")
        say(f"Written to {name}." if done.before is None else again)
