"""After a step of the ledger: the damper's file says what is in the damper now, stacks and other parts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final

from damping_model.errors import ModelError
from damping_model.units import MICROMETRE
from optimiser.actions.job_places import job_file
from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from optimiser.files.part_in_file import write_part
from optimiser.files.stack_in_file import write_stack
from optimiser.jobs.job import Job
from optimiser.ledger.connection import Ledger
from optimiser.ledger.job_record import job_record
from optimiser.ledger.jobs import file_lines, machines_with
from optimiser.ledger.part_states import part_words
from optimiser.ledger.part_swaps import value_json
from optimiser.ledger.present_stacks import present_parts, present_stacks

PROBLEM: Final = 1
"""Exit code of a problem found."""


@dataclass(frozen=True, slots=True)
class FileNote:
    """What became of a stack or another part in the damper's file.

    Parameters
    ----------
    words : what was done, or why it was not and what to do.
    failed : whether it should have been written and could not be.
    """

    words: str
    failed: bool = False


def bring_up_to_date(ledger: Ledger, shop: Path, job: str) -> Iterator[FileNote]:
    """Write stacks and parts that the ledger knows later than the damper's file; tells what was done.

    The ledger holds whatever happens here: a plan takes the stack from it. A file that two machines share is
    left alone, since it lists the damper of both.

    Parameters
    ----------
    ledger : the shop's ledger, after the step.
    shop : its folder.
    job : name or path of the job.
    """
    place = job_file(shop, job)
    try:
        if place is None:
            return
        read = read_job(place)
        later = present_stacks(ledger, job_record(read))
        parts = present_parts(ledger, job_record(read))
    except (InputError, ModelError) as error:
        yield FileNote(f"The damper's file is as it was, and the step stands: {error}", failed=True)
        return
    file = Path(read.damper.source)
    shared = len(machines_with(ledger, read.damper.name)) > 1
    for state in later:
        write = partial(write_stack, file, state.stack_name, state.stack, hole=_hole(read, state.stack_name))
        yield _filed(write, file, repr(state.stack_name), file_lines(state.stack), shared=shared)
    for part in parts:
        write = partial(write_part, file, part.kind, part.name, part.value)
        what = part_words(part.kind, part.name)
        yield _filed(write, file, what, value_json(part.value), shared=shared)


def _filed(write: Callable[[], None], file: Path, what: str, lines: str, *, shared: bool) -> FileNote:
    """Write one thing into the damper's file, and say what became of it."""
    lines = f"for its next plan {what} is now:\n{lines}"
    if shared:
        return FileNote(f"{file} is as it was, since more than one machine has this damper; {lines}")
    try:
        write()
    except InputError as error:
        return FileNote(f"{file} is as it was, and the step stands: {error} In it, {lines}", failed=True)
    return FileNote(f"{file}: {what} is now as it is in the damper.")


def filing_code(filed: Iterable[FileNote]) -> int:
    """The exit code: a problem found when a file is behind the ledger, so that no script passes over it."""
    return PROBLEM if any(note.failed for note in filed) else 0


def _hole(job: Job, stack: str) -> int:

    mounted = job.damper.stack_named(stack, where=str(job.path))
    return round(mounted.mounting.hole_diameter / MICROMETRE)
