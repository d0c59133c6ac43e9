"""``shimwright shop``: which shim type to buy, so that a job can be done, or done with less work."""

from __future__ import annotations

from pathlib import Path

import click

from optimiser.cli.options import as_found_option, json_option, time_limit_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

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
        from damping_model.units import MICROMETRE, MILLIMETRE
        from optimiser.batch.job_to_sheet import free_to_plan
        from optimiser.files.catalogue import read_catalogue
        from optimiser.jobs.job_basics import basics_of
        from optimiser.jobs.setup import set_up, stack_to_change
        from optimiser.jobs.whole_setup import opens_all, set_up_at_work
        from optimiser.jobs.whole_shop import shop_for_all
        from optimiser.report.in_units import in_units
        from optimiser.report.unit_system import UnitSystem
        from optimiser.search import Control
        from optimiser.studies.shopping import shop

        offered = read_catalogue(catalogue)
        free, record = free_to_plan(job, as_found=as_found)
        several, gate = opens_all(free), basics_of(free)
        places = free.damper.stacks if several else (stack_to_change(free),)
        holes = {round(one.mounting.hole_diameter / MICROMETRE) for one in places}
        offers = {one.key: one for one in offered if one.key.inner in holes}
        if not offers:
            sizes = " or ".join(f"{hole * MICROMETRE / MILLIMETRE:g} mm" for hole in sorted(holes))
            named = " and ".join(f"'{one.name}'" for one in places)
            raise InputError(
                f"{catalogue}: got no type with a hole of {sizes}, expected some: that is "
                f"the shaft of {named}. Add types that fit it, or name another catalogue."
            )
        if not gate.passed:
            stops = [finding for finding in gate.findings if finding.stops]
            first = "Basics first: " + " ".join(finding.do_this for finding in stops)
            say(in_units(first, UnitSystem(units)), err=True)
            say("Or say why not as override_reason under [basics] in the job file.", err=True)
            return BASICS_FIRST
        control = Control(
            time_limit=free.work.patience(time_limit), should_stop=should_stop, progress=progress
        )
        sold = sorted(offers)
        if several:
            free.damper.refuse_what_cannot_be_built()
            setup = set_up_at_work(free, gate=gate, record=record)
            found = shop_for_all(setup, sold=sold, control=control, most_types=types)
        else:
            setup = set_up(free, gate=gate, record=record)
            found = shop(
                setup.problem,
                sold=sold,
                most_changes=free.work.most_changes,
                control=control,
                most_types=types,
            )

    from optimiser.documents.shop import shop_document
    from optimiser.report.console import terminal
    from optimiser.report.shop_text import print_shopping, said
    from optimiser.studies.purchases import Trust

    if as_json:
        words = said(found, sold=len(offers))
        names = [one.name for one in places]
        document = shop_document(setup, found, offers=offers, said=words, open_stacks=names)
        say_json(document.model_dump_json(indent=2))
    else:
        system = UnitSystem(units)
        print_shopping(terminal(), setup, found, offers=offers, units=system, several=several)
    if found.trust is Trust.INTERRUPTED:
        return INTERRUPTED
    return 0 if found.outcome in {"buy", "nothing needed"} else NOT_REACHED
