"""``shimwright release``: put back what a job has reserved."""

from __future__ import annotations

import json
from pathlib import Path

import click

from optimiser.actions.job_places import job_name
from optimiser.cli.ledger_options import reason_option, shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json


@click.command("release")
@click.argument("job")
@reason_option("put back")
@shop_option
@json_option
def command(job: str, reason: str, shop: Path, as_json: bool) -> None:
    """Put back the shims that JOB has reserved and not used.

    Example: shimwright release a_more_support
    """
    from optimiser.ledger.builds import release
    from optimiser.ledger.connection import Ledger

    with Ledger.open(shop) as ledger:
        build = release(ledger, job_name(job), reason=reason)
    if as_json:
        say_json(json.dumps({"job": build.job, "pick": build.pick, "state": build.state}))
    else:
        say(f"{build.job}: {sum(build.taken.values())} put back, free again. Wrong? shimwright undo")
