"""A second process that compiles while this one does: numba compiles one function at a time in each."""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from damping_model.plates.code_cache import is_compiled

POLL: Final = 0.05
"""How often to look whether the other process has compiled something. [s]"""

CALL: Final = """
import gc, importlib, sys
gc.disable()
for place in sys.argv[1:]:
    module, _, name = place.partition(":")
    getattr(importlib.import_module(module), name)()
"""


class SecondProcess:
    """Calls functions given as ``module:name`` one after another, where a process can be begun.

    Where it cannot, or ends before its time, nothing is lost but the time that it would have saved.
    """

    def __init__(self, functions: Sequence[str]) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        if (os.cpu_count() or 1) < 2 or getattr(sys, "frozen", False) or not sys.executable:
            return
        path = os.pathsep.join(str(Path(place).absolute()) for place in sys.path)
        try:
            self._process = subprocess.Popen(  # noqa: S603 - the interpreter itself
                [sys.executable, "-P", "-c", CALL, *functions],
                env=os.environ | {"PYTHONPATH": path},
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
        except OSError:
            return

    def wait_for(self, *dispatchers: Any) -> None:
        """Wait until the functions are compiled, or the process has ended."""
        while self.works() and not all(is_compiled(one) for one in dispatchers):
            time.sleep(POLL)

    def works(self) -> bool:
        """Whether it is still at work."""
        return self._process is not None and self._process.poll() is None

    def end(self, *, at_once: bool) -> None:
        """Wait until it is through, or stop it."""
        if self._process is not None:
            if at_once:
                self._process.terminate()
            self._process.wait()


@contextmanager
def second_process(*functions: str) -> Iterator[SecondProcess]:
    """Let a second process call functions, named ``module:name``; stop it where the work here fails."""
    other, through = SecondProcess(functions), False
    try:
        yield other
        through = True
    finally:
        other.end(at_once=not through)


@contextmanager
def no_garbage_collection() -> Iterator[None]:
    """Do without the search for cycles among objects: while numba compiles it takes a sixth of the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
