"""Searches in the background: one at a time on all cores, the others in line, none lost with the server."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections import deque
from pathlib import Path
from typing import Final

from optimiser.bench.search_folder import FOLDER, SearchAsked, SearchFolder, SearchState

LAST_WORDS: Final = 600
"""Letters of what a process said when it broke off. [-]"""


class Searches:
    """The searches of a shop; its folder holds what becomes of them.

    Parameters
    ----------
    shop : the shop's folder.
    """

    def __init__(self, shop: Path) -> None:
        self._shop = shop
        self._line: deque[str] = deque()
        self._running: str | None = None
        self._process: subprocess.Popen[bytes] | None = None
        self._changed = threading.Condition()
        self._closed = threading.Event()
        self._thread = threading.Thread(target=self._work, daemon=True)

    def start(self) -> None:
        """Begin to work, first on what a server before this one left unfinished."""
        for place in sorted((self._shop / FOLDER).glob("*/asked.json")):
            name = place.parent.name
            if self.of(name).state is SearchState.WAITING:
                self._line.append(name)
        self._thread.start()

    def of(self, job: str) -> SearchFolder:
        """The latest search of a job."""
        return SearchFolder(self._shop, job)

    def ask(self, job: str, asked: SearchAsked) -> bool:
        """Search for a job, after those in line; False when that job is searched for already."""
        with self._changed:
            if job == self._running or job in self._line:
                return False
            self.of(job).begin(asked)
            self._line.append(job)
            self._changed.notify()
            return True

    def stop(self, job: str) -> None:
        """End the search of a job: a running one gives what stands, one in line is taken out of it."""
        with self._changed:
            if job in self._line:
                self._line.remove(job)
            elif job != self._running:
                return
            self.of(job).stop()

    def standing(self, job: str) -> str | None:
        """What a job's search does now, in words; None when it neither runs nor waits."""
        with self._changed:
            if job == self._running:
                return self.of(job).progress or "beginning"
            if job in self._line:
                before = len(self._line) if self._running is None else self._line.index(job) + 1
                return f"waits for {before} other {'search' if before == 1 else 'searches'}"
            return None

    def close(self) -> None:
        """End with the server; unfinished searches begin again with the next one."""
        with self._changed:
            self._closed.set()
            self._changed.notify()
            if self._process is not None:
                self._process.kill()

    def _work(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._closed.is_set() or self._line)
                if self._closed.is_set():
                    return
                job = self._running = self._line.popleft()
            try:
                self._run(job)
            finally:
                with self._changed:
                    self._running = self._process = None

    def _run(self, job: str) -> None:
        # -P: nothing is imported from the folder that the bench was begun in, which may be a stranger's shop.
        command = [sys.executable, "-P", "-m", "optimiser.bench.search_process", str(self._shop), job]
        with self._changed:
            if self._closed.is_set():
                return
            # A pipe that this server holds: when it closes, however the server ended, the process ends.
            self._process = subprocess.Popen(  # noqa: S603 (our own program, its arguments not read by a shell)
                command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
            )
            process = self._process
        assert process.stderr is not None  # noqa: S101 (asked for above)
        said = process.stderr.read().decode("utf-8", errors="replace")
        code = process.wait()
        assert process.stdin is not None  # noqa: S101 (likewise)
        process.stdin.close()
        folder = self.of(job)
        if code and not self._closed.is_set() and folder.state is SearchState.WAITING:
            last = said.strip().splitlines()[-1:] or [f"it ended with {code}"]
            folder.fail(
                f"The search broke off: {last[0][:LAST_WORDS]}. That is a fault in shimwright and not in "
                "your files; planned from the command line, the job shows where."
            )
