"""``shimwright reach``: how far each band of a job can be moved with what is on the shelf."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

import click

from optimiser.cli.options import as_found_option, json_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from optimiser.model.goal import Goal
    from optimiser.studies.reach import ReachProgress


FURTHER: Final = 0.4
"""Bands are moved by about so much beyond their windows, as a share of the force before. [-]"""


@click.command("reach")
@click.argument("job", type=click.Path(path_type=Path))
@click.option(
    "--changes", type=click.IntRange(0, 4), default=2, show_default=True, help="Most shims to change."
)
@click.option(
    "--time-limit",
    type=click.FloatRange(min=0),
    help="Give what stands after so many seconds, for each band and number of changes; 0 for no limit. "
    "A minute for all of them together when left out.",
)
@click.option("--picture", type=click.Path(path_type=Path, dir_okay=False), help="Draw it as SVG here.")
@as_found_option
@units_option
@json_option
def command(
    job: Path,
    changes: int,
    time_limit: float | None,
    picture: Path | None,
    as_found: bool,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> int:
    """Show how far each band of JOB can be moved while all its other bands are held.

    For clicks alone and for each number of changes: the least and the most shift that this shelf gives, and
    whether that is proven. Where the shelf's folder has a ledger, shims that it has reserved for other jobs
    are left out. A job that names no stack is looked at over all stacks of its damper: what any of them does,
    what one change in each of two does, and then each stack alone.

    Example: shimwright reach jobs/a_more_support.toml --changes 1 --picture reach.svg
    """
    from optimiser.cli.watching import stoppable

    if picture is not None:
        _refuse_what_cannot_be_drawn(picture)
    with stoppable("Reading the damper and searching") as (show, should_stop):
        from optimiser.batch.job_to_sheet import free_to_plan
        from optimiser.jobs.job_basics import basics_of
        from optimiser.jobs.reach import reach_of_all, reach_of_job
        from optimiser.jobs.setup import set_up
        from optimiser.jobs.whole_setup import opens_all, set_up_at_work
        from optimiser.model.answer import Status
        from optimiser.search import Control

        free, record = free_to_plan(job, as_found=as_found)
        whole, each = opens_all(free), {}
        gate = basics_of(free)
        if whole:
            setup = set_up_at_work(free, gate=gate, record=record)
        else:
            setup = set_up(free, gate=gate, record=record, further=FURTHER)
        control = Control(
            time_limit=_for_each(
                time_limit, setup.asked.goal, changes, len(free.damper.stacks) if whole else 0
            ),
            should_stop=should_stop,
            progress=_said(show),
        )
        if whole:
            all_stacks = reach_of_all(
                free, gate=gate, record=record, most_changes=changes, further=FURTHER, control=control
            )
            setup, found, each = all_stacks.setup, all_stacks.together, dict(all_stacks.each)
        else:
            found = reach_of_job(setup, most_changes=changes, control=control)

    from optimiser.documents.reach import reach_document
    from optimiser.files.writing import write_whole
    from optimiser.report.console import terminal
    from optimiser.report.reach_picture import reach_svg
    from optimiser.report.reach_text import print_reach
    from optimiser.report.unit_system import UnitSystem

    system = UnitSystem(units)
    if picture is not None:
        write_whole(picture, reach_svg(found, title=f"{free.title}: reach", units=system))
    if as_json:
        place = None if picture is None else str(picture)
        say_json(reach_document(setup, found, picture=place, each=each).model_dump_json(indent=2))
    else:
        print_reach(terminal(), setup, found, units=system, each=each)
        if picture is not None:
            say(f"Picture: {picture}")
    return 130 if found.stopped is Status.INTERRUPTED else 0


def _for_each(asked: float | None, goal: Goal, changes: int, stacks: int) -> float | None:
    """Time for each band and number of changes, of each stack and of the pairs where several are open. [s]"""
    from optimiser.jobs.job import SEARCH_TIME

    if asked is not None:
        return asked or None
    pairs = 2 if stacks else 0
    return SEARCH_TIME / max(len(goal.moved) * (changes * max(stacks, 1) + pairs), 1)


def _refuse_what_cannot_be_drawn(picture: Path) -> None:
    """Say before the work, and not after it, that its picture has no place."""
    if picture.suffix.lower() != ".svg":
        raise InputError(f"--picture: got {picture}, expected a name that ends in .svg.")
    if not picture.parent.is_dir():
        raise InputError(
            f"--picture: got {picture}, expected a folder that is there. Make {picture.parent} first."
        )


def _said(show: Callable[[str], None]) -> Callable[[ReachProgress], None]:
    """Progress in words."""
    begun = time.monotonic()

    def told(now: ReachProgress) -> None:
        side = "least" if now.side < 0 else "most"
        show(
            f"'{now.band}', {now.changes} changes, the {side}: {100 * now.shift:+.1f} % so far; "
            f"{now.families_closed} families closed, {now.families_open} open; "
            f"{time.monotonic() - begun:.0f} s. Ctrl-C stops and gives what stands"
        )

    return told
