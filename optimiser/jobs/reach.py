"""How far each band of a job goes."""

from __future__ import annotations

from optimiser.jobs.setup import JobSetup
from optimiser.search import Control
from optimiser.studies.reach import Reach, ReachProgress, reach


def reach_of_job(setup: JobSetup, *, most_changes: int, control: Control[ReachProgress]) -> Reach:
    """How far each band of a job goes; see :func:`optimiser.studies.reach.reach`.

    The bands are those that the job lists; of a job in words, one instant or a known feel, all it came to.
    """
    asked = setup.job.asked
    return reach(
        setup.problem,
        bands=range(len(asked.targets) + len(asked.holds)) if asked.targets else None,
        most_changes=most_changes,
        control=control,
    )
