"""After a step of the ledger: the damper's file lists the stack that is in the damper now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from damping_model.errors import ModelError
from damping_model.units import MICROMETRE
from optimiser.actions.job_places import job_file
from optimiser.errors import InputError
from optimiser.files.job_reader import read_job
from optimiser.files.stack_in_file import write_stack
from optimiser.jobs.job import Job
from optimiser.ledger.connection import Ledger
from optimiser.ledger.job_record import job_record
from optimiser.ledger.jobs import file_lines, machines_with
from optimiser.ledger.present_stacks import present_stacks

PROBLEM: Final = 1
"""Exit code of a problem found."""


@dataclass(frozen=True, slots=True)
class FileNote:
    """What became of a stack in the damper's file.

    Parameters
    ----------
    words : what was done, or why it was not and what to do.
    failed : whether it should have been written and could not be.
    """

    words: str
    failed: bool = False


def bring_up_to_date(ledger: Ledger, shop: Path, job: str) -> Iterator[FileNote]:
    """Write stacks that the ledger knows later than the damper's file lists them; tells what was done.

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
    except (InputError, ModelError) as error:
        yield FileNote(f"The damper's file is as it was, and the step stands: {error}", failed=True)
        return
    file = Path(read.damper.source)
    for state in later:
        lines = f"for its next plan {state.stack_name!r} is now:\n{file_lines(state.stack)}"
        if len(machines_with(ledger, read.damper.name)) > 1:
            yield FileNote(f"{file} is as it was, since more than one machine has this damper; {lines}")
            continue
        try:
            write_stack(file, state.stack_name, state.stack, hole=_hole(read, state.stack_name))
        except InputError as error:
            yield FileNote(f"{file} is as it was, and the step stands: {error} In it, {lines}", failed=True)
        else:
            yield FileNote(f"{file}: {state.stack_name!r} is now as it is in the damper.")


def filing_code(filed: Iterable[FileNote]) -> int:
    """The exit code: a problem found when a file is behind the ledger, so that no script passes over it."""
    return PROBLEM if any(note.failed for note in filed) else 0


def _hole(job: Job, stack: str) -> int:

    mounted = job.damper.stack_named(stack, where=str(job.path))
    return round(mounted.mounting.hole_diameter / MICROMETRE)
