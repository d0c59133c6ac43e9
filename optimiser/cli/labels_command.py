"""``shimwright labels``: labels for drawers and dampers, to print and cut out."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import click

from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json


@click.command("labels")
@click.argument("what", type=click.Choice(["drawers", "dampers"]))
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Where to write the page; WHAT.html when left out.",
)
@shop_option
@json_option
def command(what: str, out: Path | None, shop: Path, as_json: bool) -> None:
    """Write a page of labels for the shop's drawers, or for its dampers with the stacks that are in them.

    Example: shimwright labels drawers
    """
    from optimiser.files.stack_text import lines_from_shims
    from optimiser.files.writing import write_whole
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.levels import shelf_levels
    from optimiser.ledger.present_stacks import fitted_stacks, how_it_came
    from optimiser.report.tables_page import PrintedLabel, labels_html

    with Ledger.open(shop) as ledger:
        if what == "drawers":
            labels = [
                PrintedLabel(
                    str(level.key),
                    tuple(
                        filter(
                            None,
                            (
                                f"hole {level.key.inner / 1000:g} mm",
                                f"drawer {level.drawer}" if level.drawer else "",
                                level.label,
                                "" if level.low_at is None else f"low at {level.low_at}",
                            ),
                        )
                    ),
                )
                for level in shelf_levels(ledger)
            ]
        else:
            labels = [
                PrintedLabel(
                    damper,
                    (
                        machine,
                        *(
                            f"{state.stack_name}, {how_it_came(state)}: "
                            + ", ".join(
                                lines_from_shims(state.stack, hole=min(key.inner for key in state.stack))
                            )
                            for state in states
                        ),
                    ),
                )
                for machine, damper, states in fitted_stacks(ledger)
            ]
    place = out or Path(f"{what}.html")
    write_whole(place, labels_html(f"Labels: {what}", labels, on=date.today()))
    if as_json:
        say_json(json.dumps({"labels": len(labels), "page": str(place)}))
    else:
        count = "1 label" if len(labels) == 1 else f"{len(labels)} labels"
        say(f"{count}: {place}. Print it, cut along the dashes.")
