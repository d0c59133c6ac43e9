"""Processes on this machine: how many help, and which of them hears Ctrl-C."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager


def cores_here() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def without_interrupts() -> Iterator[None]:
    """Processes begun here see no Ctrl-C before they say that they leave it to their parent."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def leave_interrupts_to_parent() -> None:
    """In a process that was begun so: never end by Ctrl-C."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
