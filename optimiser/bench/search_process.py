"""The process that does one piece of work: ``python -m optimiser.bench.search_process SHOP KIND JOB``.

It ends with the server that began it, since a server that starts again begins unfinished searches again.
"""

from __future__ import annotations

import os
import sys
import threading
import time
from pathlib import Path
from typing import Any, Final

from damping_model.errors import ModelError
from optimiser.batch.job_to_sheet import SheetedJob, plan_to_sheet
from optimiser.bench.fit_folder import FitAsked, FitFolder, fit_study
from optimiser.bench.search_folder import SearchAsked, SearchFolder
from optimiser.bench.studies import purchase_study, reach_study
from optimiser.bench.study_folder import StudyAsked, StudyFolder
from optimiser.bench.wheel_kept import ridden
from optimiser.bench.work_folder import WorkFolder, WorkKind
from optimiser.errors import ShimwrightError
from optimiser.jobs.variant import Variant
from optimiser.processes import leave_interrupts_to_parent
from optimiser.report.page import sheet_html
from optimiser.report.plan_sheet import sheet_of
from optimiser.report.progress_words import progress_words
from optimiser.report.unit_system import UnitSystem
from optimiser.search import Control, Progress

POLITE: Final = 10
"""By how much a search gives way to the server, as the system counts it."""

OFTEN: Final = 0.4
"""How often progress is written, and a wish to stop is looked for. [s]"""


class _NowAndThen:
    """Asks the disk for a wish to stop, and tells it the progress, no oftener than people can read."""

    def __init__(self, folder: WorkFolder) -> None:
        self._folder = folder
        self._begun = time.monotonic()
        self._told = self._looked = 0.0
        self._stop = False

    def progress(self, now: Progress) -> None:
        self.tell(progress_words(now))

    def tell(self, words: str) -> None:
        spent = time.monotonic() - self._begun
        if spent - self._told > OFTEN:
            self._told = spent
            self._folder.tell(f"{words}; {spent:.0f} s")

    def should_stop(self) -> bool:
        moment = time.monotonic()
        if not self._stop and moment - self._looked > OFTEN:
            self._looked, self._stop = moment, self._folder.stop_wanted
        return self._stop


def search(folder: SearchFolder, asked: SearchAsked) -> None:
    """Plan a job as ``shimwright plan`` does, and keep what comes of it.

    Parameters
    ----------
    folder : where it is kept.
    asked : what was asked.
    """
    watched = _NowAndThen(folder)
    folder.tell("reading the damper")
    try:
        done = plan_to_sheet(
            asked.job,
            units=UnitSystem.METRIC,
            place=folder.path / "sheet-1.html",
            override_reason=asked.reason,
            control=Control(progress=watched.progress, should_stop=watched.should_stop),
            time_limit=asked.seconds,
            variant=Variant(measured=asked.measured, confidence=asked.confidence),
        )
    except (ShimwrightError, ModelError) as error:
        folder.fail(str(error))
        return
    wheel = ridden(done.planned, tell=folder.tell, should_stop=watched.should_stop)
    folder.keep(done.document(), sheets=dict(_sheets(done)), drawn=_drawn(done), wheel=wheel)


def _sheets(done: SheetedJob) -> list[tuple[int, str]]:
    answer = done.planned.answer
    listed = () if answer is None else answer.candidates[1:]
    return [
        (rank, sheet_html(sheet_of(done.planned, candidate), units=done.units))
        for rank, candidate in enumerate(listed, 2)
    ]


def _drawn(done: SheetedJob) -> dict[str, Any]:
    """Force curves of the damper as it is and of each candidate, of which pages have no physics to ask."""
    planned = done.planned
    shown = () if planned.answer is None else planned.answer.candidates or filter(None, (planned.shown,))
    sheets = [sheet_of(planned, candidate) for candidate in shown]
    lines = [sheet.curves[-1] for sheet in sheets]
    if sheets and sheets[0].curves:
        lines.insert(0, sheets[0].curves[0])
    return {
        "curves": [
            {
                "name": line.name,
                "velocities_m_s": [round(one, 5) for one in line.velocities],
                "forces_n": [round(one, 3) for one in line.forces],
                "promised_to_m_s": line.promised_to,
            }
            for line in lines
        ]
    }


def _leave_with_server() -> None:
    """End when the server does: its end of the pipe closes then, however it ended.

    Read beneath Python's buffer: a process that is forked meanwhile closes that first, and would wait for it.
    """
    while os.read(0, 1):
        pass
    os._exit(1)


def fit(folder: FitFolder, asked: FitAsked) -> None:
    """Fit a damper, and keep what comes of it.

    Parameters
    ----------
    folder : where it is kept.
    asked : what was asked.
    """
    watched = _NowAndThen(folder)
    folder.tell("reading the runs")
    try:
        fit_study(folder, asked, tell=watched.tell, should_stop=watched.should_stop)
    except (ShimwrightError, ModelError) as error:
        folder.fail(str(error))


def study(kind: WorkKind, folder: StudyFolder, asked: StudyAsked) -> None:
    """Do what is no search, and keep what comes of it.

    Parameters
    ----------
    kind : of work.
    folder : where it is kept.
    asked : what was asked.
    """
    watched = _NowAndThen(folder)
    folder.tell("reading the damper")
    one = reach_study if kind is WorkKind.REACH else purchase_study
    try:
        one(folder, asked, tell=watched.tell, should_stop=watched.should_stop)
    except (ShimwrightError, ModelError) as error:
        folder.fail(str(error))


def main(shop: Path, kind: WorkKind, job: str) -> None:
    """Do the work that was written down for a job."""
    leave_interrupts_to_parent()
    if hasattr(os, "nice"):
        os.nice(POLITE)  # pages answer while all cores search
    threading.Thread(target=_leave_with_server, daemon=True).start()
    if kind is WorkKind.SEARCH:
        folder = SearchFolder(shop, job)
        search(folder, folder.asked())
    elif kind is WorkKind.FIT:
        fits = FitFolder(shop, job)
        fit(fits, fits.asked())
    else:
        other = StudyFolder(shop, kind, job)
        study(kind, other, other.asked())


if __name__ == "__main__":
    main(Path(sys.argv[1]), WorkKind(sys.argv[2]), sys.argv[3])
