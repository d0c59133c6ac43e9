"""A damper fitted to files of its runs, as the command and the local page do it, and taken back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from damping_model.damper.force import force_curve
from optimiser.batch.job_to_sheet import free_to_plan
from optimiser.documents.curve import POINTS, SLOWEST
from optimiser.dyno.given import Settled
from optimiser.errors import InputError
from optimiser.files.damper_builder import read_typed_damper
from optimiser.files.dyno.reader import DynoSession, SaidOfFiles, read_session
from optimiser.files.fit_file import place_beside
from optimiser.files.reading import read_bytes
from optimiser.fit.fit import Fit
from optimiser.fit.fit_runs import fit_runs
from optimiser.fit.next_run import RunAdvice
from optimiser.jobs.run_for_job import run_for_job
from optimiser.jobs.setup import set_up
from optimiser.model.damper_description import DamperDescription
from optimiser.report.plan_sheet import curve_line
from optimiser.report.sheet import CurveLine
from optimiser.unknowns.varied import varied

MOST_LINES: Final = 4
"""Curves of the fitted damper in a picture; with more settings only the first are drawn."""


@dataclass(frozen=True, slots=True)
class FittedRuns:
    """A damper and what its runs told.

    Parameters
    ----------
    typed : the damper as its file describes it.
    session : its runs.
    fit : what they told.
    advice : which run a job would ask for next, and for which of its bands; None without a job.
    """

    typed: DamperDescription
    session: DynoSession
    fit: Fit
    advice: tuple[RunAdvice, str] | None

    def used(self, files: Sequence[Path]) -> dict[Path, int]:
        """How many runs were used of each file."""
        used = {stretch.run.source for stretch in self.fit.sample.stretches}
        counts = {path: sum(run.source == str(path) for run in self.session.runs) for path in files}
        return {path: count for path, count in counts.items() if str(path) in used and count}

    def lines(self) -> tuple[CurveLine, list[CurveLine]]:
        """Curves of the damper as written and, for each setting of the runs, as fitted."""
        known = self.fit.knowledge
        best = varied(self.typed.damper, dict(zip(known.unknowns, known.mean.tolist(), strict=True)))
        fastest = float(np.abs(self.fit.sample.velocities).max())
        speeds = np.geomspace(min(SLOWEST, fastest / 2), fastest, POINTS)
        velocities = np.concatenate([-speeds[::-1], speeds])
        runs = {tuple(sorted(one.run.clicks.items())): one.run for one in self.fit.sample.stretches}
        written = curve_line("as written", force_curve(self.typed.damper, velocities=velocities))
        lines = []
        for clicks, run in list(runs.items())[:MOST_LINES]:
            setting = ", ".join(f"{name} {position} out" for name, position in clicks) or "as it stands"
            curve = force_curve(
                best.damper,
                velocities=velocities,
                temperature=run.temperature,
                clicks=run.clicks,
                steel=best.steel,
            )
            lines.append(curve_line(f"fitted: {setting}", curve))
        return written, lines


def fit_files(
    damper: Path,
    files: Sequence[Path],
    *,
    said: SaidOfFiles,
    settled: Settled = Settled(),  # noqa: B008 (a frozen value)
    job: Path | None = None,
    say: Callable[[str], None],
    should_stop: Callable[[], bool],
) -> FittedRuns:
    """Fit a damper to files of its runs.

    Parameters
    ----------
    damper : its file.
    files : of its runs.
    said, settled : what a person says before what is derived.
    job : that is asked which run would tell most for it.
    say : hears how far it came.
    should_stop : asked before every step.

    Raises
    ------
    InputError
        When the files cannot be used.
    ModelError
        When the damper cannot be computed.
    StoppedError
        When somebody asked to stop.
    """
    typed = read_typed_damper(damper)
    typed.refuse_what_cannot_be_built()
    session = read_session(files, settled=settled, said=said, damper=typed.damper)
    setup = None if job is None else set_up(free_to_plan(job)[0])
    fit = fit_runs(typed, session.runs, say=say, should_stop=should_stop)
    if setup is None:
        return FittedRuns(typed, session, fit, None)
    say("Which run would tell most")
    return FittedRuns(typed, session, fit, run_for_job(typed, fit, setup, should_stop=should_stop))


def forget_fit(damper: Path) -> Path | None:
    """Take back the fit that is kept beside a damper's file; where it lay, or None where there was none.

    Raises
    ------
    InputError
        When the damper's file cannot be read, or the fit cannot be removed.
    """
    read_bytes(damper, what="a damper file")
    place = place_beside(damper)
    if not place.is_file():
        return None
    try:
        place.unlink()
    except OSError as error:
        raise InputError(f"{place}: cannot be removed ({error.strerror}). Remove it by hand.") from None
    return place
