"""Long work that is seen and can be stopped: progress on stderr, and Ctrl-C gives what stands."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from optimiser.search import Progress

QUIET: Final = 0.8
"""Work shorter than this shows nothing. [s]"""


@contextmanager
def watched(what: str) -> Iterator[tuple[Callable[[Progress], None], Callable[[], bool]]]:
    """Show how a search comes on, and turn the first Ctrl-C into a wish to stop; a second one breaks off.

    Yields
    ------
    progress, should_stop
        What :func:`optimiser.search.solve` takes under these names.
    """
    from rich.console import Console
    from rich.status import Status

    console = Console(stderr=True)
    status = Status(what, console=console)
    begun, stop = time.monotonic(), threading.Event()
    shown = threading.Timer(QUIET, status.start)
    shown.daemon = True

    def interrupt(_number: int, _frame: FrameType | None) -> None:
        if stop.is_set():
            raise KeyboardInterrupt
        stop.set()
        status.update("Stopping: giving what stands. Ctrl-C again breaks off")

    def progress(now: Progress) -> None:
        if stop.is_set():
            return
        proven = f"; {now.proven_too_few} too few, proven" if now.proven_too_few >= 0 else ""
        found = f"{now.found} found" if now.found else f"nearest {now.least_misfit:.2g} half-widths outside"
        status.update(
            f"{now.changes} changes: {now.families_closed} families closed, {now.families_open} open; {found}"
            f"{proven}; {time.monotonic() - begun:.0f} s. Ctrl-C stops and gives what stands"
        )

    in_front = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGINT, interrupt) if in_front else None
    shown.start()
    try:
        yield progress, stop.is_set
    finally:
        shown.cancel()
        status.stop()
        if in_front:
            signal.signal(signal.SIGINT, before)
