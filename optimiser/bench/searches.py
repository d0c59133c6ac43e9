"""Work in the background: one piece at a time on all cores, the others in line, none lost with the server."""

from __future__ import annotations

import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import Final

from optimiser.bench.fit_folder import FitAsked, FitFolder
from optimiser.bench.search_folder import SearchAsked, SearchFolder
from optimiser.bench.study_folder import StudyAsked, StudyFolder
from optimiser.bench.work_folder import SearchState, WorkFolder, WorkKind

LAST_WORDS: Final = 600
"""Letters of what a process said when it broke off. [-]"""

Work = tuple[WorkKind, str]
"""A kind of work, and the job or the damper that it is done for."""


class Searches:
    """The searches of a shop, and other work that takes as long; its folder holds what becomes of them.

    Parameters
    ----------
    shop : the shop's folder.
    """

    def __init__(self, shop: Path) -> None:
        self._shop = shop
        self._line: deque[Work] = deque()
        self._running: Work | None = None
        self._process: subprocess.Popen[bytes] | None = None
        self._changed = threading.Condition()
        self._closed = threading.Event()
        self._thread = threading.Thread(target=self._work, daemon=True)

    def start(self) -> None:
        """Begin to work, first on what a server before this one left unfinished."""
        for kind in WorkKind:
            for place in sorted((self._shop / kind.value).glob("*/asked.json")):
                work = kind, place.parent.name
                if self._folder(work).state is SearchState.WAITING:
                    self._line.append(work)
        self._thread.start()

    def of(self, job: str) -> SearchFolder:
        """The latest search of a job."""
        return SearchFolder(self._shop, job)

    def study(self, kind: WorkKind, job: str) -> StudyFolder:
        """The latest study of a job, of a kind."""
        return StudyFolder(self._shop, kind, job)

    def fit(self, damper: str) -> FitFolder:
        """The latest fit of a damper."""
        return FitFolder(self._shop, damper)

    def ask_fit(self, damper: str, asked: FitAsked) -> bool:
        """Fit a damper, after what is in line; False when it is being fitted already."""
        return self._ask((WorkKind.FIT, damper), lambda: self.fit(damper).begin(asked))

    def ask(self, job: str, asked: SearchAsked) -> bool:
        """Search for a job, after those in line; False when that job is searched for already."""
        return self._ask((WorkKind.SEARCH, job), lambda: self.of(job).begin(asked))

    def ask_study(self, kind: WorkKind, job: str, asked: StudyAsked) -> bool:
        """Study a job, after what is in line; False when that study is under way already."""
        return self._ask((kind, job), lambda: self.study(kind, job).begin(asked))

    def stop(self, job: str, kind: WorkKind = WorkKind.SEARCH) -> None:
        """End the work on a job: running, it gives what stands; in line, it is taken out."""
        work = kind, job
        with self._changed:
            if work in self._line:
                self._line.remove(work)
            elif work != self._running:
                return
            self._folder(work).stop()

    def standing(self, job: str, kind: WorkKind = WorkKind.SEARCH) -> str | None:
        """What the work on a job does now, in words; None when it neither runs nor waits."""
        work = kind, job
        with self._changed:
            if work == self._running:
                return self._folder(work).progress or "beginning"
            if work in self._line:
                before = len(self._line) if self._running is None else self._line.index(work) + 1
                return f"waits for {before} other {'search' if before == 1 else 'searches'}"
            return None

    def close(self) -> None:
        """End with the server; unfinished work begins again with the next one."""
        with self._changed:
            self._closed.set()
            self._changed.notify()
            if self._process is not None:
                self._process.kill()

    def _folder(self, work: Work) -> WorkFolder:
        kind, name = work
        if kind is WorkKind.SEARCH:
            return self.of(name)
        return self.fit(name) if kind is WorkKind.FIT else self.study(kind, name)

    def _ask(self, work: Work, begin: Callable[[], None]) -> bool:
        with self._changed:
            if work == self._running or work in self._line:
                return False
            begin()
            self._line.append(work)
            self._changed.notify()
            return True

    def _work(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._closed.is_set() or self._line)
                if self._closed.is_set():
                    return
                work = self._running = self._line.popleft()
            try:
                self._run(work)
            finally:
                with self._changed:
                    self._running = self._process = None

    def _run(self, work: Work) -> None:
        kind, job = work
        # -P: nothing is imported from the folder that the bench was begun in, which may be a stranger's shop.
        command = [
            sys.executable, "-P", "-m", "optimiser.bench.search_process", str(self._shop), kind.value, job,
        ]  # fmt: skip
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
        folder = self._folder(work)
        if code and not self._closed.is_set() and folder.state is SearchState.WAITING:
            last = said.strip().splitlines()[-1:] or [f"it ended with {code}"]
            folder.fail(
                f"The search broke off: {last[0][:LAST_WORDS]}. That is a fault in shimwright and not in "
                "your files; asked from the command line, the job shows where."
            )
