"""How far each band of a job's file goes with what is free, as the command and the local page ask it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from optimiser.batch.job_to_sheet import free_to_plan
from optimiser.jobs.job import SEARCH_TIME
from optimiser.jobs.job_basics import basics_of
from optimiser.jobs.reach import WholeReach, reach_of_all, reach_of_job
from optimiser.jobs.setup import set_up
from optimiser.jobs.whole_setup import opens_all, set_up_at_work
from optimiser.model.goal import Goal
from optimiser.search import Control
from optimiser.studies.reach import ReachProgress

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
) -> WholeReach:
    """How far each band goes: with the stack that a job names, or with all of its damper where it names none.

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
    gate, whole = basics_of(free), opens_all(free)
    if whole:
        setup = set_up_at_work(free, gate=gate, record=record)
    else:
        setup = set_up(free, gate=gate, record=record, further=FURTHER)
    limit = time_limit or None
    if time_limit is None:
        stacks = len(free.damper.stacks) if whole else 0
        limit = _for_each(setup.asked.goal, most_changes, stacks)
    control = Control(time_limit=limit, should_stop=should_stop, progress=progress)
    if not whole:
        return WholeReach(setup, reach_of_job(setup, most_changes=most_changes, control=control), {})
    return reach_of_all(
        free, gate=gate, record=record, most_changes=most_changes, further=FURTHER, control=control
    )


def _for_each(goal: Goal, changes: int, stacks: int) -> float:
    """Time for each band and number of changes, of each stack and of the pairs where several are open. [s]"""
    pairs = 2 if stacks else 0
    return SEARCH_TIME / max(len(goal.moved) * (changes * max(stacks, 1) + pairs), 1)


def reach_progress_words(now: ReachProgress) -> str:
    """How far it came."""
    side = "down" if now.side < 0 else "up"
    return (
        f"'{now.band}', {now.changes} changes, {side}: {100 * now.shift:+.1f} % so far; "
        f"{now.families_closed} families closed, {now.families_open} open"
    )
