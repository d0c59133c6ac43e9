"""Many jobs side by side on this machine, each in a process that is told to stop and never interrupted."""

from __future__ import annotations

import ctypes
import os
import threading
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from functools import partial
from multiprocessing import active_children, get_context, parent_process
from multiprocessing.connection import wait as wait_for
from typing import Final

from optimiser.batch.task import Standing, Task, answer_job, broken_off, faulty, not_planned
from optimiser.jobs.job_answer import JobAnswer
from optimiser.processes import leave_interrupts_to_parent, without_interrupts

POLL: Final = 0.2
"""How often the user's wish to stop is passed on. [s]"""


def plan_here(
    tasks: Sequence[Task],
    *,
    cores: int,
    progress: Callable[[Standing], None],
    should_stop: Callable[[], bool],
) -> tuple[JobAnswer, ...]:
    """Plan jobs side by side on this machine, as many at a time as ``cores``, each in a process of its own.

    Parameters
    ----------
    tasks : the jobs.
    cores : processes to use; the answers are the same for any number.
    progress : told now and then how far the run has come.
    should_stop : asked often; True stops running jobs at what stands, and begins no other.

    Returns
    -------
    tuple of JobAnswer
        One a task, in the tasks' order.
    """
    answers: dict[Task, JobAnswer] = {}

    def answered(more: int, *, workers: int) -> None:
        progress(Standing.of(jobs=len(tasks), answered=len(answers) + more, workers=workers))

    answers |= _side_by_side(tasks, cores, partial(answered, workers=cores), should_stop)
    for task in tasks:
        if task in answers:
            continue
        # A process died, most often for want of memory, and took the queue with it: one at a time from here.
        alone = _side_by_side([task], 1, partial(answered, workers=1), should_stop)
        answers[task] = alone.get(task) or broken_off(
            task,
            "its process died twice, the second time with no other beside it; expected memory enough for one "
            "search. Free memory, or lower most_changes.",
        )
    return tuple(answers[task] for task in tasks)


def _side_by_side(
    tasks: Sequence[Task], cores: int, done: Callable[[int], None], should_stop: Callable[[], bool]
) -> dict[Task, JobAnswer]:
    """Answers by task; none for those that were under way or waiting when a process died."""
    context = get_context("spawn")
    # No lock around it: a worker that is killed while it reads could hold a lock for ever.
    stop = context.RawValue(ctypes.c_bool, False)
    before = set(active_children())
    answers: dict[Task, JobAnswer] = {}
    pool = ProcessPoolExecutor(
        max(min(cores, len(tasks)), 1), mp_context=context, initializer=_begin, initargs=(stop,)
    )
    try:
        waiting = _submitted(pool, tasks)
        while waiting:
            done(len(answers))
            finished = wait(waiting, timeout=POLL, return_when=FIRST_COMPLETED).done
            if should_stop():
                stop.value = True
                for future in waiting:
                    future.cancel()
            for future in finished:
                task = waiting.pop(future)
                answer = _outcome(task, future)
                if answer is not None:
                    answers[task] = answer
    except BaseException:
        for process in set(active_children()) - before:
            process.kill()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    return answers


def _submitted(pool: ProcessPoolExecutor, tasks: Sequence[Task]) -> dict[Future[JobAnswer], Task]:
    submitted: dict[Future[JobAnswer], Task] = {}
    with without_interrupts():
        for task in tasks:
            try:
                submitted[pool.submit(_answer_in_worker, task)] = task
            except BrokenProcessPool:
                break
    return submitted


def _outcome(task: Task, future: Future[JobAnswer]) -> JobAnswer | None:
    if future.cancelled():
        return not_planned(task)
    error = future.exception()
    if isinstance(error, BrokenProcessPool):
        return None
    return future.result() if error is None else broken_off(task, faulty(error))


_STOP: Final[list[ctypes.c_bool]] = []
"""In a worker: the flag that it shares with the process that gives out the jobs."""


def _begin(stop: ctypes.c_bool) -> None:
    leave_interrupts_to_parent()
    _STOP[:] = [stop]
    threading.Thread(target=_leave_with_parent, daemon=True).start()


def _leave_with_parent() -> None:
    """End with the process that gave out the jobs, so that a closed terminal leaves no search running."""
    parent = parent_process()
    if parent is not None:
        wait_for([parent.sentinel])
        os._exit(1)


def _answer_in_worker(task: Task) -> JobAnswer:
    return answer_job(task, should_stop=lambda: bool(_STOP[0].value))
