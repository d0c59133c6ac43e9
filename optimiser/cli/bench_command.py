"""``shimwright bench``: the whole job in a browser, served from the shop's folder on this machine."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import units_option
from optimiser.cli.saying import say
from optimiser.cli.watching import stoppable


@click.command("bench")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8421, show_default=True, help="0 takes any that is free."
)
@click.option(
    "--for-the-workshop",
    is_flag=True,
    help="Let other devices on this network in, each by a key that works once.",
)
@units_option
@shop_option
def command(port: int, for_the_workshop: bool, units: Literal["metric", "imperial"], shop: Path) -> None:
    """Serve the shop as a page in the browser: jobs, goals, candidates, what if, stock, dampers, record.

    Prints an address that lets one browser in, once. Only this machine reaches it, unless --for-the-workshop
    opens it to the network; then the address is shown as a code for a telephone or tablet, too. On the page,
    'Doors' makes more keys, also for guests who only look on. Nothing is fetched from outside.

    Searches run on while the page is closed, and those that a server left unfinished begin again with the
    next. Ctrl-C ends it.

    Example: shimwright bench
    """
    from optimiser.bench.server import open_bench
    from optimiser.report.unit_system import UnitSystem

    opened = open_bench(shop, port=port, for_the_workshop=for_the_workshop, units=UnitSystem(units))
    with stoppable("Making the bench ready") as (_, should_stop):
        from optimiser.search.warm_up import warm_up_with_physics

        warm_up_with_physics()  # so that no page waits for what is compiled
    if should_stop():
        return
    if for_the_workshop:
        from optimiser.bench.codes import code_for_terminal

        say(code_for_terminal(opened.way_in))
    say(f"Open this address in a browser; it lets one in, once:\n\n  {opened.way_in}\n")
    say("Ctrl-C ends the bench.")
    opened.serve()
