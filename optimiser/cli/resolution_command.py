"""``shimwright resolution``: the smallest steps that a stack and a shelf allow, band by band."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

import click

from optimiser.cli.options import as_found_option, json_option, time_limit_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from optimiser.jobs.setup import JobSetup
    from optimiser.studies.refinement import Rung
    from optimiser.studies.resolution import Steps

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

    And how a step falls when the stack is rebuilt from more, thinner shims that bend as much. A job that
    names no stack is looked at for every stack of its damper that has a say in its bands, one by one.

    Example: shimwright resolution jobs/g_too_coarse.toml
    """
    from optimiser.cli.watching import stoppable

    _refuse_what_cannot_be_drawn(picture)
    with stoppable("Trying every single change") as (show, stopped_by_hand):
        from optimiser.batch.job_to_sheet import free_to_plan
        from optimiser.jobs.finer_steps import steps_words
        from optimiser.jobs.whole_setup import setups_of
        from optimiser.search import Control
        from optimiser.studies.refinement import rungs
        from optimiser.studies.resolution import single_steps
        from optimiser.studies.single_changes import single_changes

        free, record = free_to_plan(job, as_found=as_found)
        setups, tried = setups_of(free, record=record), 0
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

        def looked_at(setup: JobSetup) -> Fineness:
            goal = setup.asked.goal
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
            return Fineness(setup, steps, ladder, refused, advice)

        found = [looked_at(setup) for setup in setups]
        by_hand = stopped_by_hand()

    from optimiser.documents.resolution import resolution_document
    from optimiser.files.writing import write_whole
    from optimiser.report.console import terminal
    from optimiser.report.resolution_picture import resolution_svg
    from optimiser.report.resolution_text import print_resolution
    from optimiser.report.unit_system import UnitSystem

    pictures = [None if picture is None else _numbered(picture, number) for number in range(len(found))]
    for one, place in zip(found, pictures, strict=True):
        if place is not None:
            title = f"{free.damper.name}, {one.setup.mounted.name}: steps of one change"
            write_whole(place, resolution_svg(one.steps, one.ladder, title=title))
    ended = _ended(by_hand=by_hand, ran_out=ran_out)
    if as_json:
        first, *others = (
            resolution_document(
                one.setup,
                one.steps,
                one.ladder,
                refused=one.refused,
                advice=one.advice,
                ended=ended,
                picture=None if place is None else str(place),
            )
            for one, place in zip(found, pictures, strict=True)
        )
        say_json(first.model_copy(update={"others": others}).model_dump_json(indent=2))
    else:
        for one, place in zip(found, pictures, strict=True):
            print_resolution(
                terminal(),
                one.setup,
                one.steps,
                one.ladder,
                refused=one.refused,
                advice=one.advice,
                units=UnitSystem(units),
            )
            if place is not None:
                say(f"Picture: {place}")
        if ended == "time ran out":
            say("The time ran out before all was tried: '--time-limit 0' lets it go on to the end.")
    return {"complete": 0, "time ran out": NOT_ALL_TRIED, "interrupted": INTERRUPTED}[ended]


class Fineness(NamedTuple):
    """What was found of one stack."""

    setup: JobSetup
    steps: Steps
    ladder: tuple[Rung, ...]
    refused: tuple[int, ...]
    advice: tuple[str, ...]


def _numbered(picture: Path, number: int) -> Path:
    """Where the picture of a stack goes: the first where it was asked for, others beside it."""
    return picture if not number else picture.with_stem(f"{picture.stem}-{number + 1}")


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
