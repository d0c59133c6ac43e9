"""Every row of the symptom table on nine dampers, planned as a newcomer would ask.

Run from the project's folder: ``python -m tests.benchmarks.bench_words [WORDS ...] [--time-limit S] [--write] [--beside TEXT]``.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from functools import partial
from multiprocessing import get_context
from pathlib import Path

from optimiser.files.symptoms_file import read_vocabulary
from tests.benchmarks.words.fleet import jobs
from tests.benchmarks.words.page import PAGE, line, page, sums
from tests.benchmarks.words.rows import AnsweredJob, Ending, planned_row


def main() -> int:
    """Print a row a job; 1 when a job was refused."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("words", nargs="*", help="only jobs whose 'damper: symptom' has one of these")
    parser.add_argument(
        "--time-limit", type=float, default=30.0, help="seconds for each search; 30 when left out"
    )
    parser.add_argument(
        "--side-by-side",
        type=int,
        default=1,
        help="jobs planned at a time, each on one core; 1 when left out",
    )
    parser.add_argument("--write", action="store_true", help=f"write {PAGE.name}; every job has to be asked")
    parser.add_argument("--beside", default="", help="what else runs on the machine, in a sentence")
    asked = parser.parse_args()
    if asked.write and asked.words:
        parser.error("--write: got some of the jobs, expected all of them. Leave the words out.")
    every = list(jobs(read_vocabulary()))
    names = [f"{ride.name}: {symptom.name}" for ride, symptom in every]
    wanted = [
        n for n, name in enumerate(names) if not asked.words or any(word in name for word in asked.words)
    ]
    if not wanted:
        parser.error(f"got {', '.join(asked.words)}, expected words of a damper or a symptom.")
    rows: list[AnsweredJob] = []
    with (
        tempfile.TemporaryDirectory() as folder,
        ProcessPoolExecutor(asked.side_by_side, mp_context=get_context("spawn")) as pool,
    ):
        plan = partial(planned_row, folder=Path(folder), time_limit=asked.time_limit)
        for row in pool.map(plan, *zip(*(every[n] for n in wanted), strict=True)):
            rows.append(row)
            print(line(row), flush=True)
    print("\n" + sums(rows))
    if asked.write:
        when = f"on {date.today():%d %B %Y}, on {os.cpu_count()} processor cores".replace("on 0", "on ")
        PAGE.write_text(
            page(rows, time_limit=asked.time_limit, when=when, beside=asked.beside), encoding="utf-8"
        )
    return 1 if any(row.verdict is Ending.REFUSED for row in rows) else 0


if __name__ == "__main__":
    sys.exit(main())
