"""Rides: what they cost, whether energy balances, and whether events say what words and changes say.

Run from the project's folder: ``python -m tests.benchmarks.bench_ride {cost,machines,rows} [--time-limit S] [--side-by-side N]``.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from unittest.mock import patch

from damping_model.errors import ModelError
from optimiser.errors import ShimwrightError
from optimiser.files.job_reader import read_job
from optimiser.files.rides_file import read_rides
from optimiser.files.shop_folder import TRUSTED
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.intake.complaint import Symptom
from optimiser.jobs.plan import plan_job
from optimiser.jobs.ride_band import event_of_words
from optimiser.jobs.ride_job import ride_job
from optimiser.jobs.ride_machine import corner_to_ride, machine_to_ride, own_damper
from optimiser.ride.telling import told
from optimiser.search import Control
from tests.benchmarks.words.fleet import RiddenDamper, job_text, jobs
from tests.benchmarks.words.rows import by_processor_time
from tests.helpers.random_machines import ridden_at_random


@dataclass(frozen=True, slots=True)
class RiddenRow:
    """One symptom on one damper, ridden before and after what the plan recommends.

    Parameters
    ----------
    name : damper and symptom.
    words : a line about it.
    overlaps : whether the simulated window meets the band of the words.
    right : whether the event's own figure moves the right way; None where nothing is recommended.
    """

    name: str
    words: str
    overlaps: bool
    right: bool | None


def ridden_row(damper: RiddenDamper, symptom: Symptom, *, folder: Path, time_limit: float) -> RiddenRow:
    """Plan a job in words, and ride the event behind it before and after."""
    name = f"{damper.name}: {symptom.name}"
    path = folder / f"{damper.name}, {symptom.name}.toml"
    path.write_text(job_text(damper, symptom), encoding="utf-8")
    try:
        with by_processor_time(), patch.dict(os.environ, {TRUSTED: "1"}):
            job = read_job(path)
        event = event_of_words(job, symptom.name)
        behind = job.rides.behind_symptom(symptom.name)
        assert event is not None
        assert behind is not None
        with by_processor_time():
            planned = plan_job(job, control=Control(time_limit=time_limit, cores=1))
        shown = planned.shown
        steps = [step for step in planned.ladder if step.best == shown][:1]
        if shown is not None and not steps:
            steps = [
                step
                for step in planned.ladder
                if (step.best.stack, step.best.setting) == (shown.stack, shown.setting)
            ][:1]
        ride = ride_job(
            job, [event], ladder=steps, stack_name=planned.mounted.name, settings=planned.settings
        )
    except (ShimwrightError, ModelError) as error:
        return RiddenRow(name, f"refused: {error}", overlaps=False, right=None)
    band, one = job.vocabulary.bands[symptom.band], ride.events[0]
    window = one.before.window(symptom.stroke)
    overlaps = window is not None and window.overlaps(band.low, band.high)
    seen = "no work" if window is None else f"{window.low:.2f} to {window.high:.2f}"
    words = f"{symptom.stroke} {seen} against {band.low:g} to {band.high:g} m/s"
    before = one.before.figures.of(behind.figure)
    if not one.after or before is None:
        return RiddenRow(name, f"{words}; nothing recommended ({planned.outcome})", overlaps, None)
    after = one.after[0].figures.of(behind.figure)
    right = after is not None and ((after < before) if behind.better == "less" else (after > before))
    return RiddenRow(
        name, f"{words}; {behind.figure} {before:.4g} -> {after:.4g}, {behind.better} wanted", overlaps, right
    )


def rows(time_limit: float, side_by_side: int) -> None:
    """Every symptom on every damper that it fits."""
    every = list(jobs(read_vocabulary()))
    found: list[RiddenRow] = []
    with (
        tempfile.TemporaryDirectory() as folder,
        ProcessPoolExecutor(side_by_side, mp_context=get_context("spawn")) as pool,
    ):
        ridden = partial(ridden_row, folder=Path(folder), time_limit=time_limit)
        for row in pool.map(ridden, *zip(*every, strict=True)):
            found.append(row)
            where = "meets" if row.overlaps else "APART"
            way = {None: "-", True: "right", False: "WRONG"}[row.right]
            print(f"{where:6} {way:6} {row.name}: {row.words}", flush=True)
    judged = [row.right for row in found if row.right is not None]
    print(
        f"\n{len(found)} rows; window meets the band in {sum(row.overlaps for row in found)}; "
        f"own figure the right way in {sum(judged)} of {len(judged)}"
    )


def cost(job: Path) -> None:
    """Processor time of every event, alone and with four dampers more."""
    read = read_job(job)
    corner = corner_to_ride(read)
    begun = time.process_time()
    damper = own_damper(read, read.damper.damper)
    print(f"{'its curve':24} {1e3 * (time.process_time() - begun):5.0f} ms")
    bands = tuple(read.vocabulary.bands.values())
    events = read.rides.events_on(read.machine.kind)
    told(events[0], machine_to_ride(read, corner, damper, events[0]), bands=bands)
    worst = 0.0
    for event in events:
        begun = time.process_time()
        machine = machine_to_ride(read, corner, damper, event)
        one = told(event, machine, bands=bands)
        spent = time.process_time() - begun
        worst = max(worst, abs(one.imbalance))
        print(f"{event.name:24} {1e3 * spent:5.0f} ms")
    begun = time.process_time()
    for _ in range(5):
        damper = own_damper(read, read.damper.damper)
        for event in events[:10]:
            told(event, machine_to_ride(read, corner, damper, event), bands=bands)
    print(f"ten events, as it is and on four steps: {time.process_time() - begun:.2f} s")
    print(f"largest imbalance of energy: {worst:.1e} of the throughput")


def machines(count: int) -> None:
    """Machines drawn at random, each through an event drawn at random."""
    table, ends, worst, slowest = read_rides(), Counter[str](), 0.0, 0.0
    begun = time.process_time()
    for seed in range(count):
        at = time.process_time()
        one, reason = ridden_at_random(seed, table)
        slowest = max(slowest, time.process_time() - at)
        if one is None:
            ends[f"refused: {reason.split('got')[0][:40]}"] += 1
        else:
            ends["ended"] += 1
            worst = max(worst, abs(one.imbalance))
    for words, number in ends.most_common():
        print(f"{number:5} {words}")
    print(f"largest imbalance of energy: {worst:.1e}; slowest {slowest:.2f} s")
    print(f"{time.process_time() - begun:.0f} s of processor time")


def main() -> int:
    """Print what was asked for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("what", choices=["cost", "machines", "rows"])
    parser.add_argument("--job", type=Path, default=Path("inventory_demo/jobs/i_fork_dives.toml"))
    parser.add_argument("--time-limit", type=float, default=10.0, help="seconds for each search")
    parser.add_argument("--side-by-side", type=int, default=1, help="jobs planned at a time")
    parser.add_argument("--count", type=int, default=1000, help="machines drawn")
    asked = parser.parse_args()
    if asked.what == "cost":
        cost(asked.job)
    elif asked.what == "machines":
        machines(asked.count)
    else:
        rows(asked.time_limit, asked.side_by_side)
    return 0


if __name__ == "__main__":
    sys.exit(main())
