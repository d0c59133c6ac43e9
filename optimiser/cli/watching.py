"""Long work that is seen and can be stopped: progress on stderr, and Ctrl-C gives what stands."""

from __future__ import annotations

import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING, Final

from optimiser.report.progress_words import progress_words

if TYPE_CHECKING:
    from optimiser.search import Progress

QUIET: Final = 0.8
"""Work shorter than this shows nothing. [s]"""


@contextmanager
def stoppable(what: str) -> Iterator[tuple[Callable[[str], None], Callable[[], bool]]]:
    """Show what is being done, and turn the first Ctrl-C into a wish to stop; a second one breaks off.

    Enter it before the heavy imports: a Ctrl-C that raises in the middle of them leaves half a library.

    Yields
    ------
    show, should_stop
        Shows how far the work has come, in words; says whether the user wants it to end.
    """
    stop, status_of = threading.Event(), _Shown(what)

    def interrupt(_number: int, _frame: FrameType | None) -> None:
        if stop.is_set():
            raise KeyboardInterrupt
        stop.set()
        status_of.say("Stopping: giving what stands. Ctrl-C again breaks off")

    def show(words: str) -> None:
        if not stop.is_set():
            status_of.say(words)

    in_front = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGINT, interrupt) if in_front else None
    status_of.soon()
    try:
        from damping_model.stack.warm_up import is_compiled

        if not is_compiled():
            from optimiser.search.warm_up import warm_up_with_physics

            show("First run here: compiling the model, about half a minute, this once")
            warm_up_with_physics()
            show(what)
        yield show, stop.is_set
    finally:
        status_of.end()
        if in_front:
            signal.signal(signal.SIGINT, before)


@contextmanager
def watched(what: str) -> Iterator[tuple[Callable[[Progress], None], Callable[[], bool]]]:
    """Show how a search comes on, and give what stands after Ctrl-C, as :func:`stoppable` does.

    Yields
    ------
    progress, should_stop
        What :func:`optimiser.search.solve` takes under these names.
    """
    begun = time.monotonic()
    with stoppable(what) as (show, should_stop):

        def progress(now: Progress) -> None:
            spent = f"{time.monotonic() - begun:.0f} s"
            show(f"{progress_words(now)}; {spent}. Ctrl-C stops and gives what stands")

        yield progress, should_stop


class _Shown:
    """A line on stderr that appears once work takes long enough to be wondered about."""

    def __init__(self, what: str) -> None:
        from rich.status import Status
        from rich.text import Text

        from optimiser.report.console import terminal

        self._status = Status(Text(what), console=terminal(stderr=True))
        self._timer = threading.Timer(QUIET, self._status.start)
        self._timer.daemon = True

    def soon(self) -> None:
        self._timer.start()

    def say(self, words: str) -> None:
        from rich.text import Text

        self._status.update(Text(words))

    def end(self) -> None:
        self._timer.cancel()
        self._timer.join()
        self._status.stop()
