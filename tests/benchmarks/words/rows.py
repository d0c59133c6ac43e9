"""One job in words, planned within a time limit: what came of it, as a row of a table."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from types import SimpleNamespace
from typing import Final
from unittest.mock import patch

from damping_model.errors import ModelError
from optimiser.errors import ShimwrightError
from optimiser.files.job_reader import read_job
from optimiser.files.shop_folder import TRUSTED
from optimiser.intake.complaint import Symptom
from optimiser.jobs.plan import plan_job
from optimiser.jobs.planned import Planned
from optimiser.model.answer import Candidate
from optimiser.model.band_result import BandResult, BandVerdict, band_result
from optimiser.model.goal import Role, Window
from optimiser.report.way_out_text import loosening_text
from optimiser.search import Control
from tests.benchmarks.words.fleet import RiddenDamper, job_text

WOULD_DO: Final = 2
"""Loosenings that a row names. [-]"""


@contextmanager
def by_processor_time() -> Iterator[None]:
    """Count a time limit in seconds of this process's own work, which other work on the machine does not stretch."""
    with ExitStack() as stack:
        for name, module in list(sys.modules.items()):
            if name.startswith("optimiser.") and getattr(module, "time", None) is time:
                stack.enter_context(
                    patch.object(module, "time", SimpleNamespace(monotonic=time.process_time))
                )
        yield


class Ending(Enum):
    """How a job ended."""

    MET = "met"
    AT_THE_EDGE = "at the edge"
    """The nearest misses a limit by less than the model's own accuracy."""

    NEAR_ENOUGH = "near enough"
    """What is recommended misses a limit by less than a rider feels."""

    NOT_MET = "not met"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True, kw_only=True)
class AnsweredJob:
    """What came of one job.

    Parameters
    ----------
    damper, symptom : which job.
    effort : what the answer takes, in words.
    by_clicks : whether the damper stays closed.
    verdict : how it ended.
    proven : whether fewest, or none, is proven.
    target : what the answer does to the target, in words.
    seconds : of processor time, from the files to the answer. [s]
    in_the_way : what stands in the way where it is not met, in words.
    """

    damper: str
    symptom: str
    effort: str
    by_clicks: bool
    verdict: Ending
    proven: bool
    target: str
    seconds: float
    in_the_way: str = ""


def planned_row(ride: RiddenDamper, symptom: Symptom, *, folder: Path, time_limit: float) -> AnsweredJob:
    """Write a job as a newcomer would, plan it, and say what came of it.

    Parameters
    ----------
    ride, symptom : the job.
    folder : where its file is written.
    time_limit : for the search, on one core. [s]
    """
    job = folder / f"{ride.name}, {symptom.name}.toml"
    job.write_text(job_text(ride, symptom), encoding="utf-8")
    begun = time.process_time()
    try:
        with by_processor_time():
            with patch.dict(os.environ, {TRUSTED: "1"}):  # the jobs lie outside the shops of their dampers
                described = read_job(job)
            planned = plan_job(described, control=Control(time_limit=time_limit, cores=1))
    except (ShimwrightError, ModelError) as error:
        return AnsweredJob(
            damper=ride.name,
            symptom=symptom.name,
            effort="none",
            by_clicks=False,
            verdict=Ending.REFUSED,
            proven=False,
            target="",
            seconds=time.process_time() - begun,
            in_the_way=str(error),
        )
    seconds = time.process_time() - begun
    return row_of(planned, damper=ride.name, symptom=symptom.name, seconds=seconds)


def row_of(planned: Planned, *, damper: str, symptom: str, seconds: float) -> AnsweredJob:
    """The row of a planned job: its first candidate, or the one that comes nearest with the least effort."""
    if planned.answer is None or planned.asked is None or planned.shown is None:
        stops = [one for one in planned.gate.findings if one.stops]
        remedy = " ".join(f"{one.what}: {one.got}, expected {one.expected}. {one.do_this}" for one in stops)
        return AnsweredJob(
            damper=damper,
            symptom=symptom,
            effort="basics first",
            by_clicks=False,
            verdict=Ending.NOT_MET,
            proven=False,
            target="",
            seconds=seconds,
            in_the_way=remedy,
        )
    answer, shown = planned.answer, _shown(planned)
    bands = _judged(planned, shown)
    verdict = Ending.MET if answer.candidates else _verdict(bands)
    if verdict is Ending.NOT_MET and planned.near_enough is not None:
        verdict = Ending.NEAR_ENOUGH
    met = verdict is not Ending.NOT_MET
    return AnsweredJob(
        damper=damper,
        symptom=symptom,
        effort=_effort(planned, shown),
        by_clicks=met and not shown.changes,
        verdict=verdict,
        proven="proven" in answer.status.value,
        target="; ".join(_words(result) for window, result in bands if window.role is Role.TARGET),
        seconds=seconds,
        in_the_way="" if verdict is Ending.MET else "; ".join([*_missed(bands), *_would_do(planned)]),
    )


def _shown(planned: Planned) -> Candidate:
    """The first candidate; with none, the step of least effort that is at the edge; else the nearest."""
    assert planned.answer is not None
    assert planned.shown is not None
    edge = (step.best for step in planned.ladder if step.verdict is BandVerdict.AT_THE_EDGE)
    return planned.shown if planned.answer.candidates else next(edge, planned.shown)


def _judged(planned: Planned, one: Candidate) -> list[tuple[Window, BandResult]]:
    assert planned.asked is not None
    return [(window, band_result(window, one.forces[part])) for window, part in planned.asked.goal.parts]


def _verdict(bands: Sequence[tuple[Window, BandResult]]) -> Ending:
    missed = any(result.verdict is BandVerdict.OUT_OF_RANGE for _, result in bands)
    return Ending.NOT_MET if missed else Ending.AT_THE_EDGE


def _effort(planned: Planned, one: Candidate) -> str:
    if one.changes:
        turned = " and clicks" if one.setting != planned.setting else ""
        return f"{len(one.changes)} change{'s' if len(one.changes) > 1 else ''}{turned}"
    before, after = planned.settings[planned.setting], planned.settings[one.setting]
    moved = [f"{name} {at} to {after[name]} out" for name, at in before.items() if after[name] != at]
    return ", ".join(moved) or "nothing"


def _words(result: BandResult) -> str:
    return f"{100 * result.mean:+.1f} % ({100 * result.least:+.0f} to {100 * result.most:+.0f})"


def _missed(bands: Sequence[tuple[Window, BandResult]]) -> list[str]:
    return [
        f"'{window.name}' out by {100 * result.missed_by:.2g} points"
        + ("" if result.missed_at is None else f" at {result.missed_at:.2g} m/s")
        for window, result in bands
        if result.missed_by > 0
    ]


def _would_do(planned: Planned) -> list[str]:
    """The smallest loosenings, as the plan words them."""
    out = planned.way_out
    if out is None:
        return []
    nearest = sorted(out.loosenings, key=lambda one: abs(one.value / one.present - 1))[:WOULD_DO]
    return [f"would do: {loosening_text(one)}" for one in nearest]
