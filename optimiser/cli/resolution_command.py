"""``shimwright resolution``: the smallest steps that a stack and a shelf allow, band by band."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Final, Literal

import click

from optimiser.cli.options import as_found_option, json_option, time_limit_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

NOT_ALL_TRIED: Final = 3
INTERRUPTED: Final = 130


@click.command("resolution")
@click.argument("job", type=click.Path(path_type=Path))
@click.option("--picture", type=click.Path(path_type=Path, dir_okay=False), help="Draw it as SVG here.")
@time_limit_option
@as_found_option
@units_option
@json_option
def command(
    job: Path,
    picture: Path | None,
    time_limit: float | None,
    as_found: bool,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> int:
    """Show the smallest step in each band of JOB that one change of this stack from this shelf makes.

    And how a step falls when the stack is rebuilt from more, thinner shims that bend as much.

    Example: shimwright resolution jobs/g_too_coarse.toml
    """
    from optimiser.cli.watching import stoppable

    _refuse_what_cannot_be_drawn(picture)
    with stoppable("Trying every single change") as (show, stopped_by_hand):
        from optimiser.batch.job_to_sheet import free_to_plan
        from optimiser.jobs.finer_steps import steps_words
        from optimiser.jobs.setup import set_up
        from optimiser.search import Control
        from optimiser.studies.refinement import rungs
        from optimiser.studies.resolution import single_steps
        from optimiser.studies.single_changes import single_changes

        free, record = free_to_plan(job, as_found=as_found)
        setup = set_up(free, record=record)
        goal, tried = setup.asked.goal, 0
        ends, ran_out = time.monotonic() + free.work.patience(time_limit), False

        def should_stop() -> bool:
            nonlocal ran_out
            ran_out = ran_out or time.monotonic() >= ends
            return ran_out or stopped_by_hand()

        def asked_to_stop() -> bool:
            nonlocal tried
            tried += 1
            show(f"{tried} single changes tried. Ctrl-C stops and gives what stands")
            return should_stop()

        steps = single_steps(
            goal,
            changed=single_changes(setup.stack, mounting=setup.mounting, stock=setup.stock),
            forces=setup.forces,
            should_stop=asked_to_stop,
        )
        ladder = rungs(
            setup.stack,
            goal=goal,
            forces=setup.computed_forces,
            mounting=setup.mounting,
            should_stop=should_stop,
        )
        refused = tuple(rung.shims for rung in ladder if not setup.nothing_against(rung.stack))
        advice = steps_words(setup, steps, control=Control(should_stop=should_stop))
        by_hand = stopped_by_hand()

    from optimiser.documents.resolution import resolution_document
    from optimiser.files.writing import write_whole
    from optimiser.report.console import terminal
    from optimiser.report.resolution_picture import resolution_svg
    from optimiser.report.resolution_text import print_resolution
    from optimiser.report.unit_system import UnitSystem

    if picture is not None:
        title = f"{free.damper.name}, {setup.mounted.name}: steps of one change"
        write_whole(picture, resolution_svg(steps, ladder, title=title))
    ended = _ended(by_hand=by_hand, ran_out=ran_out)
    if as_json:
        place = None if picture is None else str(picture)
        document = resolution_document(
            setup,
            steps,
            ladder,
            refused=refused,
            advice=advice,
            ended=ended,
            picture=place,
        )
        say_json(document.model_dump_json(indent=2))
    else:
        print_resolution(
            terminal(), setup, steps, ladder, refused=refused, advice=advice, units=UnitSystem(units)
        )
        if picture is not None:
            say(f"Picture: {picture}")
        if ended == "time ran out":
            say("The time ran out before all was tried: '--time-limit 0' lets it go on to the end.")
    return {"complete": 0, "time ran out": NOT_ALL_TRIED, "interrupted": INTERRUPTED}[ended]


def _ended(*, by_hand: bool, ran_out: bool) -> Literal["complete", "interrupted", "time ran out"]:
    return "interrupted" if by_hand else "time ran out" if ran_out else "complete"


def _refuse_what_cannot_be_drawn(picture: Path | None) -> None:
    """Say before the work, and not after it, that its picture has no place."""
    if picture is None:
        return
    if picture.suffix.lower() != ".svg":
        raise InputError(f"--picture: got {picture}, expected a name that ends in .svg.")
    if not picture.parent.is_dir():
        raise InputError(
            f"--picture: got {picture}, expected a folder that is there. Make {picture.parent} first."
        )
