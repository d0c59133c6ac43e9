"""``shimwright ride``: what the wheel does in events of a ride, before and after each step of effort."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from optimiser.cli.options import json_option, time_limit_option, units_option
from optimiser.cli.saying import say, say_json


@click.command("ride")
@click.argument("job", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--event", "names", multiple=True, metavar="NAME", help="Ride this event alone; repeat.")
@click.option("--as-it-is", is_flag=True, help="Ride the damper as it is, and plan nothing.")
@click.option(
    "--override", "reason", help="Go on although the basics are out of range, and say why, as for plan."
)
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="Draw the first event here.")
@time_limit_option
@units_option
@json_option
def command(
    job: Path,
    names: tuple[str, ...],
    as_it_is: bool,
    reason: str | None,
    svg: Path | None,
    time_limit: float | None,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> int:
    """Say what the wheel of JOB's machine does in events of a ride: travel, speeds, time, hardness, grip.

    Without --as-it-is the job is planned as 'shimwright plan' does, and every event is ridden with the damper
    as it is and with what each step of effort makes of it. The event behind the complaint comes first.

    Events, usual figures of machines and what a rider feels are in a table that a shop may change: a
    rides.toml beside its shelf. Whatever the machine's file lacks is taken as usual and named.

    Example: shimwright ride jobs/i_fork_dives.toml --event "braking into a corner" --event "square edge"
    """
    from optimiser.cli.watching import watched

    with watched("Riding") as (progress, should_stop):
        from optimiser.actions.ride_of_plan import events_to_ride
        from optimiser.documents.ride import ride_document
        from optimiser.files.job_reader import read_job
        from optimiser.files.writing import write_whole
        from optimiser.jobs.plan import plan_job
        from optimiser.jobs.ride_job import ride_job, steps_to_ride
        from optimiser.report.console import terminal
        from optimiser.report.ride_drawing import travel_svg
        from optimiser.report.ride_text import print_ride
        from optimiser.report.unit_system import UnitSystem
        from optimiser.search import Control

        read = read_job(job)
        events = events_to_ride(read, names)
        planned = None
        if not as_it_is:
            control = Control(
                progress=progress, should_stop=should_stop, time_limit=read.work.patience(time_limit)
            )
            planned = plan_job(read, control=control, override_reason=reason)
        if should_stop():
            raise click.Abort
        found = ride_job(
            read,
            events,
            steps=() if planned is None else steps_to_ride(planned.ladder),
            stack_name="" if planned is None else planned.mounted.name,
            settings=() if planned is None else planned.settings,
        )
    if svg is not None:
        write_whole(svg, str(travel_svg(found, found.events[0], units=UnitSystem(units))))
    if as_json:
        say_json(ride_document(read.title, found).model_dump_json(indent=2))
        return 0
    say(f"{read.title}\n{read.machine.name}, {found.corner}: {read.damper.name}\n")
    if planned is not None and planned.answer is None:
        say("The basics come first, so that nothing is planned: shimwright plan says why.\n")
    print_ride(terminal(), found, units=UnitSystem(units))
    if svg is not None:
        say(f"Drawn in {svg}.")
    return 0
