"""``shimwright outcome``: what the ride showed."""

from __future__ import annotations

import json
from pathlib import Path

import click

from optimiser.cli.ledger_options import job_name, shop_option
from optimiser.cli.options import json_option
from optimiser.errors import InputError


@click.command("outcome")
@click.argument("job")
@click.argument("words")
@shop_option
@json_option
def command(job: str, words: str, shop: Path, as_json: bool) -> None:
    """Write down in WORDS what the ride after JOB showed; 'person show' reads it back.

    Example: shimwright outcome a_more_support "Stands up in the turn, edges as before."
    """
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.jobs import record_outcome

    if not words.strip():
        raise InputError("WORDS: got nothing, expected what the ride showed. Put it in quotes.")
    with Ledger.open(shop) as ledger:
        record_outcome(ledger, job_name(job), words.strip())
    click.echo(json.dumps({"job": job_name(job)}) if as_json else f"Written to {job_name(job)}.")
