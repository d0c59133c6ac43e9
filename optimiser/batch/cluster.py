"""Many jobs on a Dask cluster: one job is one task, and a job whose worker dies goes to another."""

from __future__ import annotations

import contextlib
import re
import threading
import time
import uuid
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, Final

from optimiser.batch.processes import POLL
from optimiser.batch.task import Standing, Task, answer_job, broken_off, faulty, not_planned
from optimiser.errors import InputError
from optimiser.jobs.job_answer import JobAnswer

if TYPE_CHECKING:
    from distributed import Client

ADDRESS: Final = re.compile(r"((tcp|tls)://)?([^/:\s]+|\[[0-9a-fA-F:.]+\]):\d{1,5}")

PATIENCE: Final = 10.0
"""How long an address is given to answer. [s]"""

FIRST_WORKER: Final = 30.0
"""How long a scheduler is given to have a worker. [s]"""

GRACE: Final = 30.0
"""How long running jobs are given to hand over what stands, once the user wants to stop. [s]"""


def plan_on_cluster(
    tasks: Sequence[Task],
    *,
    address: str,
    progress: Callable[[Standing], None],
    should_stop: Callable[[], bool],
) -> tuple[JobAnswer, ...]:
    """Plan jobs on the workers of a Dask scheduler.

    Parameters
    ----------
    tasks : the jobs, by paths that every worker sees.
    address : of the scheduler, as ``tcp://bench:8786``.
    progress : told now and then how far the run has come.
    should_stop : asked often; True stops running jobs at what stands, and begins no other.

    Returns
    -------
    tuple of JobAnswer
        One a task, in the tasks' order.

    Raises
    ------
    InputError
        When ``distributed`` is not installed, the address does not answer, or no worker joins.
    """
    client = _client(address)
    with client:
        run = uuid.uuid4().hex
        futures = {
            task: client.submit(_answer_on_worker, task, run, key=f"shimwright-{run}-{number}", pure=False)
            for number, task in enumerate(tasks)
        }
        try:
            return _gathered(client, futures, run, progress, should_stop)
        finally:
            client.cancel([future for future in futures.values() if not future.done()])


def _client(address: str) -> Client:
    try:
        from distributed import Client  # noqa: PLC0415 (an optional extra)
    except ImportError:
        raise InputError(
            "--cluster: the package 'distributed' is not installed, expected it beside shimwright. "
            "Install it with: pip install 'shimwright[cluster]'."
        ) from None
    if ADDRESS.fullmatch(address) is None:
        raise InputError(
            f"--cluster: got {address!r}, expected the address of a Dask scheduler, as tcp://bench:8786. "
            "'dask scheduler' prints it when it starts."
        )
    try:
        client = Client(address, timeout=PATIENCE, set_as_default=False)
    except OSError:
        raise InputError(
            f"--cluster: nothing answers at {address} within {PATIENCE:.0f} s, expected a Dask scheduler. "
            "Start one with 'dask scheduler'; it prints its address."
        ) from None
    try:
        client.wait_for_workers(1, timeout=FIRST_WORKER)
    except TimeoutError:
        client.close()
        raise InputError(
            f"--cluster: the scheduler at {address} has no worker after {FIRST_WORKER:.0f} s, expected at "
            f"least one. Start some with 'dask worker {address} --nthreads 1'."
        ) from None
    return client


def _gathered(
    client: Client,
    futures: dict[Task, Any],
    run: str,
    progress: Callable[[Standing], None],
    should_stop: Callable[[], bool],
) -> tuple[JobAnswer, ...]:
    answers: dict[Task, JobAnswer] = {}
    stopping: float | None = None
    while len(answers) < len(futures):
        if client.status != "running":
            return tuple(
                answers.get(task) or broken_off(task, "the scheduler went away. Start it, and run it again.")
                for task in futures
            )
        if should_stop():
            stopping = stopping or time.monotonic()
            # Again each time round, for a worker that joins late begins what another one left.
            with contextlib.suppress(OSError):
                client.run(_stop, run, on_error="ignore")
            if time.monotonic() - stopping > GRACE:
                return tuple(answers.get(task) or not_planned(task) for task in futures)
        for task, future in futures.items():
            if task not in answers and future.done():
                answers[task] = _outcome(task, future)
        with contextlib.suppress(OSError):  # the connection may break here; the next round sees it
            workers = sum(client.nthreads().values())
            progress(Standing.of(jobs=len(futures), answered=len(answers), workers=workers))
        time.sleep(POLL)
    return tuple(answers[task] for task in futures)


def _outcome(task: Task, future: Any) -> JobAnswer:
    from distributed import KilledWorker  # noqa: PLC0415 (an optional extra)

    if future.cancelled():
        return broken_off(task, "the scheduler dropped it. Run it again.")
    error = future.exception()
    if isinstance(error, KilledWorker):
        return broken_off(
            task,
            "every worker that took it died. Free memory on the workers, or lower most_changes.",
        )
    if error is not None:
        return broken_off(task, faulty(error))
    answer: JobAnswer = future.result()
    return answer


_STOPPED: Final[set[str]] = set()
"""In a worker: runs whose user wants to stop."""

_ONE_AT_A_TIME: Final = threading.Lock()


def _stop(run: str) -> None:
    _STOPPED.add(run)


def _answer_on_worker(task: Task, run: str) -> JobAnswer:
    # A worker with several threads: drawings are not made for threads, and a search gains nothing from them.
    with _ONE_AT_A_TIME:
        return answer_job(task, should_stop=lambda: run in _STOPPED)
