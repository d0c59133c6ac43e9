"""How far each band of a job's file goes with what is free, as the command and the local page ask it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from optimiser.batch.job_to_sheet import free_to_plan
from optimiser.jobs.job import SEARCH_TIME
from optimiser.jobs.reach import reach_of_job
from optimiser.jobs.setup import JobSetup, set_up
from optimiser.search import Control
from optimiser.studies.reach import Reach, ReachProgress

FURTHER: Final = 0.4
"""Bands are moved by about so much beyond their windows, as a share of the force before. [-]"""


def reach_of_file(
    path: Path,
    *,
    most_changes: int,
    time_limit: float | None,
    progress: Callable[[ReachProgress], None],
    should_stop: Callable[[], bool],
    as_found: bool = False,
) -> tuple[JobSetup, Reach]:
    """How far each band of a job goes.

    Parameters
    ----------
    path : the job file.
    most_changes : of shims.
    time_limit : for each band and number of changes, 0 for none; the usual time for all of them together when
        left out. [s]
    progress : hears how far it came.
    should_stop : once it says yes, what stands is given.
    as_found : take the damper as its file says, although the ledger knows that the shop has changed it since.

    Raises
    ------
    InputError
        When the files cannot be used.
    ModelError
        When the damper cannot be computed.
    """
    free, record = free_to_plan(path, as_found=as_found)
    setup = set_up(free, record=record, further=FURTHER)
    limit = time_limit or None
    if time_limit is None:
        limit = SEARCH_TIME / max(len(setup.asked.goal.moved) * most_changes, 1)
    control = Control(time_limit=limit, should_stop=should_stop, progress=progress)
    return setup, reach_of_job(setup, most_changes=most_changes, control=control)


def reach_progress_words(now: ReachProgress) -> str:
    """How far it came."""
    side = "least" if now.side < 0 else "most"
    return (
        f"'{now.band}', {now.changes} changes, the {side}: {100 * now.shift:+.1f} % so far; "
        f"{now.families_closed} families closed, {now.families_open} open"
    )
