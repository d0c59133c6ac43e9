"""``shimwright undo``: take a step of the ledger back."""

from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import click

from optimiser.actions.damper_on_file import bring_up_to_date, filing_code
from optimiser.cli.ledger_options import already, once_option, shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError


@click.command("undo")
@click.argument("step", type=click.IntRange(1, 10**12), required=False)
@click.option(
    "--list", "only_list", is_flag=True, help="Show the last twenty steps and their numbers instead."
)
@once_option
@shop_option
@json_option
def command(step: int | None, only_list: bool, identity: str | None, shop: Path, as_json: bool) -> int:
    """Take back the last step, or the step with a number, by a counter-movement; the past stays readable.

    What 'done' had written to the damper's file is written there as it was. What a ride of it showed stays
    written and no longer counts.

    Example: shimwright undo --list
    """
    from optimiser.cli.plain_table import show_table
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.once import once
    from optimiser.ledger.rides import no_longer_counts
    from optimiser.ledger.undo import past_operations, taken_back_by, undo_step

    if only_list and identity is not None:
        raise InputError("undo: --list only shows, and --once belongs to a step. Leave one of them out.")
    with Ledger.open(shop) as ledger:
        if not only_list:
            done = once(ledger, identity, ("undo", step), "operation", lambda: undo_step(ledger, step))
            gone = taken_back_by(ledger, done.number)
            text = f"Step {gone.number} taken back: {gone.kind}, {gone.reason}."
            if done.before is not None:
                text = already(done, what=f"the undo of step {gone.number}")
            filed = [] if gone.job is None else list(bring_up_to_date(ledger, shop, gone.job))
            ridden = no_longer_counts(ledger, gone.number)
            words = [note.words for note in filed]
            more = {"again": done.before is not None, "filed": words, "ridden": ridden}
            document, told = dataclasses.asdict(gone) | more, [text, *words, *filter(None, [ridden])]
            say(json.dumps(document, ensure_ascii=False) if as_json else "\n".join(told))
            return filing_code(filed)
        past = past_operations(ledger, most=20)
    if as_json:
        say_json(json.dumps([dataclasses.asdict(found) for found in past], ensure_ascii=False))
        return 0
    show_table(
        ("Step", "When (UTC)", "What", "Shims", "Undone", "Job", "Why"),
        [
            (
                str(found.number),
                found.at[:16].replace("T", " "),
                found.kind,
                str(found.shims),
                "yes" if found.undone else "",
                found.job or "",
                found.reason,
            )
            for found in past
        ],
        numbers=(0, 3),
        empty="The ledger holds no step yet.",
    )
    return 0
