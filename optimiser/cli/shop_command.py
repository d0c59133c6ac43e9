"""``shimwright shop``: which shim type to buy, so that a job can be done, or done with less work."""

from __future__ import annotations

from pathlib import Path

import click

from optimiser.cli.options import as_found_option, json_option, time_limit_option, units_option
from optimiser.cli.saying import say, say_json

BASICS_FIRST, NOT_REACHED, INTERRUPTED = 4, 3, 130


@click.command("shop")
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--catalogue", type=click.Path(path_type=Path), required=True, help="CSV file of what can be bought."
)
@click.option(
    "--types", type=click.IntRange(1, 2), default=1, show_default=True, help="Most types to buy together."
)
@time_limit_option
@as_found_option
@units_option
@json_option
def command(
    job: Path,
    catalogue: Path,
    types: int,
    time_limit: float | None,
    as_found: bool,
    units: str,
    as_json: bool,
) -> int:
    """Find which type to buy, that is not on the shelf, for JOB to be reached or to take fewer changes.

    First what the shelf alone can do; then every purchase of one type at once, and with --types 2 every
    pair. When the search comes to its end, "no single type helps" is proven. For a job that names no stack
    that is so over all stacks of its damper.

    Example: shimwright shop jobs/g_too_coarse.toml --catalogue catalogue.csv
    """
    from optimiser.cli.watching import watched

    with watched("Reading the damper and searching") as (progress, should_stop):
        from optimiser.actions.shop_of_file import shop_of_file

        bought = shop_of_file(
            job,
            catalogue,
            most_types=types,
            time_limit=time_limit,
            progress=progress,
            should_stop=should_stop,
            as_found=as_found,
        )

    from optimiser.report.unit_system import UnitSystem

    if isinstance(bought, str):
        from optimiser.report.in_units import in_units

        say(in_units(bought, UnitSystem(units)), err=True)
        say("Or say why not as override_reason under [basics] in the job file.", err=True)
        return BASICS_FIRST
    setup, found, offers = bought.setup, bought.found, bought.offers

    from optimiser.documents.shop import shop_document
    from optimiser.report.console import terminal
    from optimiser.report.shop_text import print_shopping, said
    from optimiser.studies.purchases import Trust

    if as_json:
        words = said(found, sold=len(offers))
        document = shop_document(setup, found, offers=offers, said=words, open_stacks=bought.open_stacks)
        say_json(document.model_dump_json(indent=2))
    else:
        system = UnitSystem(units)
        several = len(bought.open_stacks) > 1
        print_shopping(terminal(), setup, found, offers=offers, units=system, several=several)
    if found.trust is Trust.INTERRUPTED:
        return INTERRUPTED
    return 0 if found.outcome in {"buy", "nothing needed"} else NOT_REACHED
