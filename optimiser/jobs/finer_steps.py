"""What a goal between two steps of one change calls for: more changes, or a finer stack."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from optimiser.jobs.setup import JobSetup
from optimiser.model.answer import Answer, Status
from optimiser.model.percent import share_text
from optimiser.search import Control, Progress, solve
from optimiser.studies.refinement import Rung, ladder, rebuilt, rung_of
from optimiser.studies.resolution import Steps, asked_bands
from optimiser.studies.steps_around import StepsAround

MOST_CHANGES: Final = 4
"""As many as a job may allow."""

TRYING: Final = 5.0
"""How long a stack of one change more is looked for. [s]"""

MEET: Final = (
    "Clicks alone meet it",
    "One change meets it",
    "Two changes meet it",
    "Three changes meet it",
    "Four changes meet it",
)
"""By number of changes."""


def called_too_coarse(setup: JobSetup, answer: Answer) -> bool:
    """Whether an answer leaves it to the steps of one change: all that the job allows is proven not to do.

    Steps are taken at the present clicks, so they say nothing of a job that is planned for others.
    """
    impossible = answer.status is Status.PROVEN_IMPOSSIBLE and answer.proven_too_few >= 1
    return impossible and not setup.job.work.clickers_to_middle


def allowed_changes(setup: JobSetup, control: Control[Progress]) -> Answer:
    """What the changes that the job allows do, looked for until one meets the goal or none is proven to."""
    return first_within(setup, setup.job.work.most_changes, control)


def steps_words(setup: JobSetup, steps: Steps, *, control: Control[Progress]) -> tuple[str, ...]:
    """How the steps of one change lie beside what each target asks, and what would do where none lands.

    Parameters
    ----------
    setup : the job.
    steps : of its stack.
    control : interruption and cores.
    """
    words: list[str] = []
    if not steps.complete:
        return ()
    for around in steps.around:
        if around.between:
            words += steps_advice(setup, around, allowed_changes(setup, control), control=control)
        else:
            words.append(around.said(shims=len(setup.stack.shims)))
    return tuple(words)


def steps_advice(
    setup: JobSetup,
    around: StepsAround,
    answer: Answer,
    *,
    control: Control[Progress],
    one_more: Answer | None = None,
) -> Iterator[str]:
    """What a goal that falls between the steps of one change calls for, in sentences.

    What would do is tried before it is said.

    Parameters
    ----------
    setup : the job.
    around : the target between two steps of one change.
    answer : what the changes that the job allows do.
    control : interruption, cores, and what is left of the time.
    one_more : what one change more than the job allows does, when it was tried.
    """
    shims, job = len(setup.stack.shims), setup.job
    coarse = around.too_coarse(shims=shims) and called_too_coarse(setup, answer)
    line = f"shimwright plan {shlex.quote(str(job.path))}"
    yield around.said(shims=shims, called_coarse=coarse)
    if answer.candidates:
        yield f"{MEET[len(answer.candidates[0].changes)]}, which the job allows: {line}"
    elif not coarse:
        yield f"Whether what the job allows meets it: {line}"
    else:
        if answer.proven_too_few < MOST_CHANGES:
            yield _one_more(setup, answer.proven_too_few + 1, control, one_more)
        rung = None if control.stop_requested() else _fine_enough(setup, around)
        if rung is not None:
            yield (
                f"A stack of {rung.shims} shims that bends as much is fine enough: one shim pulled moves "
                f"'{around.band}' by {share_text(rung.steps[_place(setup, around)], 1)}, while what is "
                f"wanted is "
                f"{share_text(around.most - around.least, 1)} wide."
            )


def _one_more(setup: JobSetup, changes: int, control: Control[Progress], tried: Answer | None) -> str:
    """What one change more than the job allows does."""
    answer = tried or first_within(setup, changes, control)
    line = f"shimwright plan {shlex.quote(str(setup.job.path))} --changes {changes}"
    if answer.candidates:
        return f"{MEET[len(answer.candidates[0].changes)]}: {line}"
    if answer.status is Status.PROVEN_IMPOSSIBLE:
        return f"Proven: {changes} changes do not meet it either."
    return f"Whether {changes} changes meet it is not known yet; this looks for longer: {line}"


def first_within(setup: JobSetup, changes: int, control: Control[Progress]) -> Answer:
    """A search that ends with the first stack that meets the goal, or soon.

    Parameters
    ----------
    setup : the job.
    changes : most shims changed.
    control : interruption, cores, and what is left of the time.
    """
    found = False

    def look(progress: Progress) -> None:
        nonlocal found
        found = progress.found > 0
        control.report(progress)

    limit = TRYING if control.time_limit is None else min(TRYING, control.time_limit)
    middle = setup.job.work.clickers_to_middle
    return solve(
        setup.problem,
        most_changes=changes,
        control=replace(
            control,
            time_limit=limit,
            progress=look,
            should_stop=lambda: found or control.stop_requested(),
        ),
        wanted=1,
        settings=(setup.physics.middle,) if middle else None,
        find_nearest=False,
    )


def _fine_enough(setup: JobSetup, around: StepsAround) -> Rung | None:
    """The coarsest rebuild from more shims, with room under the nut, of which one shim out is fine enough."""
    place, goal, mounting = _place(setup, around), setup.asked.goal, setup.mounting
    for shims in ladder(setup.stack, mounting=mounting):
        made = rebuilt(setup.stack, shims=shims, mounting=mounting)
        if shims <= len(setup.stack.shims) or made is None:
            continue
        rung = rung_of(made, goal=goal, forces=setup.computed_forces, mounting=mounting, as_it_is=False)
        fine = rung is not None and rung.fits and rung.steps[place] < around.most - around.least
        if fine and setup.nothing_against(made):
            return rung
    return None


def _place(setup: JobSetup, around: StepsAround) -> int:
    """Place of the target among the bands that a rung has figures for."""
    names = [window.name for window, _ in asked_bands(setup.asked.goal)]
    return names.index(around.band)
