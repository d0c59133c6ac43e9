"""How far each band of a job goes."""

from __future__ import annotations

from collections.abc import Callable

from optimiser.jobs.setup import JobSetup
from optimiser.studies.reach import Reach, ReachProgress, reach


def reach_of_job(
    setup: JobSetup,
    *,
    most_changes: int,
    time_limit: float | None,
    should_stop: Callable[[], bool],
    progress: Callable[[ReachProgress], None],
) -> Reach:
    """How far each band of a job goes; see :func:`optimiser.studies.reach.reach`.

    The bands are those that the job lists; of a job in words, one instant or a known feel, all it came to.
    """
    asked = setup.job.asked
    return reach(
        setup.physics,
        stack=setup.stack,
        mounting=setup.mounting,
        stock=setup.stock,
        goal=setup.asked.goal,
        bands=range(len(asked.targets) + len(asked.holds)) if asked.targets else None,
        most_changes=most_changes,
        time_limit=time_limit,
        should_stop=should_stop,
        progress=progress,
    )
