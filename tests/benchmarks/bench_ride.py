"""Rides: what they cost, whether energy balances, and whether events say what words and changes say.

Run from the project's folder: ``python -m tests.benchmarks.bench_ride {cost,machines,rows} [--time-limit S] [--side-by-side N] [--damper NAME] [--by-shift] [--demo]``.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from pathlib import Path

from optimiser.files.job_reader import read_job
from optimiser.files.rides_file import read_rides
from optimiser.files.symptoms_file import read_vocabulary
from optimiser.jobs.ride_machine import corner_to_ride, machine_to_ride, own_damper
from optimiser.ride.telling import told
from tests.benchmarks.words.fleet import FLEET, jobs
from tests.benchmarks.words.ridden import RiddenRow, demo_fleet, ridden_row, shifted_row
from tests.helpers.random_machines import ridden_at_random


def rows(time_limit: float, side_by_side: int, dampers: list[str], *, by_shift: bool, demo: bool) -> None:
    """Every symptom on every damper that it fits, or on those that are named."""
    fleet = demo_fleet() if demo else FLEET
    every = [row for row in jobs(read_vocabulary(), fleet) if not dampers or row[0].name in dampers]
    found: list[RiddenRow] = []
    with (
        tempfile.TemporaryDirectory() as folder,
        ProcessPoolExecutor(side_by_side, mp_context=get_context("spawn")) as pool,
    ):
        ridden = partial(ridden_row, folder=Path(folder), time_limit=time_limit)
        if by_shift:
            ridden = partial(shifted_row, folder=Path(folder))
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
    parser.add_argument("--damper", action="append", default=[], help="only jobs of this one; repeat")
    parser.add_argument(
        "--by-shift", action="store_true", help="plan nothing: move the band by its first step"
    )
    parser.add_argument("--demo", action="store_true", help="the dampers that come with the program")
    parser.add_argument("--count", type=int, default=1000, help="machines drawn")
    asked = parser.parse_args()
    if asked.what == "cost":
        cost(asked.job)
    elif asked.what == "machines":
        machines(asked.count)
    else:
        rows(asked.time_limit, asked.side_by_side, asked.damper, by_shift=asked.by_shift, demo=asked.demo)
    return 0


if __name__ == "__main__":
    sys.exit(main())
