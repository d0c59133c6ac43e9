"""What becomes of one job among many: small and plain, so that it travels between processes and machines."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from damping_model.errors import ModelError
from optimiser.batch.job_to_sheet import plan_to_sheet
from optimiser.errors import ShimwrightError
from optimiser.files.writing import write_whole
from optimiser.jobs.job_answer import JobAnswer
from optimiser.model.answer import Status
from optimiser.report.unit_system import UnitSystem
from optimiser.search import Control, Progress


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One job to plan.

    Parameters
    ----------
    job : the job file; the sheet and the plan's document go beside it.
    units : what people read on the sheet.
    time_limit : end the search after this long; the job's own or the usual when None, never when 0. [s]
    """

    job: Path
    units: UnitSystem
    time_limit: float | None = None


@dataclass(frozen=True, slots=True)
class Standing:
    """How far a run of many jobs has come.

    Parameters
    ----------
    done, running, left : jobs answered, at work, and not begun.
    """

    done: int
    running: int
    left: int

    @staticmethod
    def of(*, jobs: int, answered: int, workers: int) -> Standing:
        """The standing when every worker that can be busy is."""
        open_jobs = jobs - answered
        running = min(workers, open_jobs)
        return Standing(answered, running, open_jobs - running)


def answer_job(task: Task, *, should_stop: Callable[[], bool]) -> JobAnswer:
    """Plan one job and write its sheet and its document; a fault in its files is an answer too.

    Parameters
    ----------
    task : the job.
    should_stop : asked often; True ends the search, and what stands is written.
    """
    if should_stop():
        return not_planned(task)
    begun = time.monotonic()
    plan = task.job.with_suffix(".json")
    try:
        # a job has one core to itself: others run beside it
        control: Control[Progress] = Control(should_stop=should_stop, cores=1)
        done = plan_to_sheet(task.job, units=task.units, control=control, time_limit=task.time_limit)
        document = done.document()
        write_whole(plan, document.model_dump_json(indent=2) + "\n")
    except (ShimwrightError, ModelError) as error:
        return JobAnswer(
            job=str(task.job),
            title=task.job.name,
            outcome="input cannot be used",
            said=_about(task, str(error)),
            seconds=time.monotonic() - begun,
        )
    answer, met = done.planned.answer, document.candidates
    proven = {Status.PROVEN_LEAST, Status.PROVEN_IMPOSSIBLE}
    return JobAnswer(
        job=str(task.job),
        title=document.job,
        outcome=document.outcome,
        status=document.status,
        said=document.said,
        number_of_changes=met[0].number_of_changes if met else None,
        proven=None if answer is None else answer.status in proven,
        sheet=document.sheet,
        plan=str(plan),
        seconds=time.monotonic() - begun,
    )


def not_planned(task: Task) -> JobAnswer:
    """The answer to a job that was stopped before its turn."""
    return JobAnswer(
        job=str(task.job),
        title=task.job.name,
        outcome="not planned",
        status=Status.INTERRUPTED.value,
        said=f"{task.job}: stopped before its turn. Run it again; jobs that were planned keep their sheets.",
    )


def broken_off(task: Task, why: str) -> JobAnswer:
    """The answer to a job whose process was lost, or that met a fault in this program."""
    return JobAnswer(job=str(task.job), title=task.job.name, outcome="broken off", said=f"{task.job}: {why}")


def faulty(error: BaseException) -> str:
    """Words for a fault in this program, which other jobs are not to suffer from."""
    return (
        f"{type(error).__name__}: {error}. That is a fault in shimwright and not in your files; "
        "planned alone, the job shows where."
    )


def _about(task: Task, message: str) -> str:
    """A message that names the job file, whichever file it is about."""
    return message if str(task.job) in message else f"{task.job}: {message}"
