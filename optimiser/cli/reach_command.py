"""``shimwright reach``: how far each band of a job can be moved with what is on the shelf."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from optimiser.cli.options import as_found_option, json_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from optimiser.studies.reach import ReachProgress


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
        from optimiser.actions.reach_of_file import reach_of_file
        from optimiser.model.answer import Status

        reach = reach_of_file(
            job,
            most_changes=changes,
            time_limit=time_limit,
            progress=_said(show),
            should_stop=should_stop,
            as_found=as_found,
        )
        setup, found, each = reach.setup, reach.together, reach.each

    from optimiser.documents.reach import reach_document
    from optimiser.files.writing import write_whole
    from optimiser.report.console import terminal
    from optimiser.report.reach_picture import reach_svg
    from optimiser.report.reach_text import print_reach
    from optimiser.report.unit_system import UnitSystem

    system = UnitSystem(units)
    if picture is not None:
        write_whole(picture, reach_svg(found, title=f"{setup.job.title}: reach", units=system))
    if as_json:
        place = None if picture is None else str(picture)
        say_json(reach_document(setup, found, picture=place, each=each).model_dump_json(indent=2))
    else:
        print_reach(terminal(), setup, found, units=system, each=each)
        if picture is not None:
            say(f"Picture: {picture}")
    return 130 if found.stopped is Status.INTERRUPTED else 0


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
    from optimiser.actions.reach_of_file import reach_progress_words

    begun = time.monotonic()

    def told(now: ReachProgress) -> None:
        spent = f"{time.monotonic() - begun:.0f} s"
        show(f"{reach_progress_words(now)}; {spent}. Ctrl-C stops and gives what stands")

    return told
