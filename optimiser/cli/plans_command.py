"""``shimwright plan FOLDER``: every job of a folder, side by side."""

from __future__ import annotations

import time
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Final, Literal

from optimiser.cli.saying import say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from optimiser.batch.task import Standing
    from optimiser.jobs.job_answer import JobAnswer, Outcome

INTERRUPTED: Final = 130
WORST_FIRST: Final[tuple[tuple[int, frozenset[Outcome]], ...]] = (
    (INTERRUPTED, frozenset({"not planned"})),
    (2, frozenset({"input cannot be used"})),
    (1, frozenset({"broken off"})),
    (3, frozenset({"cannot be reached", "nothing found"})),
    (4, frozenset({"basics first"})),
)
"""Exit codes of a run, the one that counts most first."""


def plan_folder(
    folder: Path,
    *,
    cores: int | None,
    cluster: str | None,
    units: Literal["metric", "imperial"],
    time_limit: float | None,
    as_json: bool,
) -> int:
    """Plan every job file of a folder and show what became of each.

    Parameters
    ----------
    folder : holds the job files; sheets and documents go beside them.
    cores : processes to use; all cores when None.
    cluster : address of a Dask scheduler that plans them instead.
    units : what people read on the sheets.
    time_limit : for each job. [s]
    as_json : print the document for programs.

    Returns
    -------
    int
        The exit code.
    """
    from optimiser.cli.watching import stoppable

    begun = time.monotonic()
    with stoppable("Reading the jobs") as (show, should_stop):
        from optimiser.batch.processes import plan_here
        from optimiser.batch.task import Task
        from optimiser.processes import cores_here
        from optimiser.report.unit_system import UnitSystem

        # Workers elsewhere have another working folder, so they get the whole path.
        folder = folder.resolve() if cluster is not None else folder
        tasks = [Task(job=job, units=UnitSystem(units), time_limit=time_limit) for job in job_files(folder)]

        def progress(now: Standing) -> None:
            show(
                f"{now.done} jobs done, {now.running} running, {now.left} left; "
                f"{time.monotonic() - begun:.0f} s. Ctrl-C stops and gives what stands"
            )

        if cluster is None:
            answers = plan_here(
                tasks, cores=cores or cores_here(), progress=progress, should_stop=should_stop
            )
        else:
            from optimiser.batch.cluster import plan_on_cluster

            answers = plan_on_cluster(tasks, address=cluster, progress=progress, should_stop=should_stop)
        stopped = should_stop()
    _show(folder, answers, seconds=time.monotonic() - begun, as_json=as_json)
    return INTERRUPTED if stopped else exit_code(answers)


def job_files(folder: Path) -> list[Path]:
    """The job files of a folder, by name.

    Raises
    ------
    InputError
        When there are none.
    """
    jobs = sorted(path for path in folder.glob("*.toml") if not path.name.startswith("."))
    if not jobs:
        raise InputError(
            f"{folder}: got a folder without job files, expected one with at least one '.toml' in it. "
            "Name the folder of the jobs, or write a job with 'shimwright intake'."
        )
    return jobs


def exit_code(answers: Iterable[JobAnswer]) -> int:
    """The code of the worst outcome: 0 when every job is answered."""
    outcomes = {answer.outcome for answer in answers}
    return next((code for code, bad in WORST_FIRST if outcomes & bad), 0)


def _show(folder: Path, answers: tuple[JobAnswer, ...], *, seconds: float, as_json: bool) -> None:
    if as_json:
        from optimiser.documents.plans import plans_document

        say_json(plans_document(str(folder), answers).model_dump_json(indent=2))
        return
    from optimiser.report.console import terminal
    from optimiser.report.plans_text import print_plans

    print_plans(terminal(), answers, seconds=seconds)
