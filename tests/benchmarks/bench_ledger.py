"""How long the ledger takes to answer as it grows: listing, and the plan's question of what is free.

Run: python -m tests.benchmarks.bench_ledger [MOVEMENTS ...]

A step is written through to the disk before it counts as done. The baseline beside each row is the bare SQL sum over the same file, without notes, order or objects.
"""

import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from functools import partial
from pathlib import Path

from optimiser.ledger.check import examine
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.levels import free_stock, shelf_levels
from optimiser.ledger.shelf_changes import receive
from optimiser.ledger.usage import reorder, where_used
from optimiser.model.stock import ShimKey

TYPES = 200
MOVEMENTS_A_JOB = 20
RUNS = 31
ONE = ShimKey(10_000, 100, 8000)
SIZES = (1_000, 10_000, 100_000, 300_000)
BARE_SUM = "SELECT shim_id, sum(shelf), sum(reserved) FROM movement GROUP BY shim_id"


def grown(folder: Path, movements: int) -> tuple[Ledger, int]:
    """Fill a ledger through its own tables: every job reserves and uses ten types that were received before."""
    ledger = Ledger.open(folder, create=True)
    jobs = movements // MOVEMENTS_A_JOB
    keys = [ShimKey(10_000 + 200 * (n // 5), 100 + 50 * (n % 5), 8000) for n in range(TYPES)]
    with ledger.atomic() as db:
        db.execute("INSERT INTO person VALUES (1, 'Ines', 74.0, '', NULL)")
        db.execute("INSERT INTO machine VALUES (1, 1, 'Oxlip 140')")
        db.executemany(
            "INSERT INTO shim_type VALUES (?, ?, ?, ?)",
            [(n, key.outer, key.thickness, key.inner) for n, key in enumerate(keys, 1)],
        )
        db.execute("INSERT INTO operation (at, kind, reason) VALUES ('2026-01-01', 'import', 'first count')")
        db.executemany(
            "INSERT INTO movement (operation_id, shim_id, kind, shelf, reserved) VALUES (1, ?, 'received', ?, 0)",
            [(n, jobs + 10) for n in range(1, TYPES + 1)],
        )
        db.executemany(
            "INSERT INTO shelf_note (operation_id, shim_id, listed, drawer) VALUES (1, ?, 1, 'A1')",
            [(n,) for n in range(1, TYPES + 1)],
        )
        guard = db.execute("SELECT sql FROM sqlite_schema WHERE name = 'stock_never_negative'").fetchone()[0]
        # Filling in bulk, the guard would sum a type's past at each of its movements; it is put back below.
        db.execute("DROP TRIGGER stock_never_negative")
        for job in range(1, jobs + 1):
            add_job(db, job)
        db.execute(guard)
    ledger.close()
    return Ledger.open(folder), jobs


def add_job(db: sqlite3.Connection, job: int) -> None:
    """Enter a job that was planned, built and ridden."""
    used = [(job * 7 + n) % TYPES + 1 for n in range(MOVEMENTS_A_JOB // 2)]
    db.execute("INSERT INTO damper VALUES (?, 1, ?)", (job, f"damper {job}"))
    db.execute("INSERT INTO job VALUES (?, ?, 'support', '', ?, '2026-01-02')", (job, f"job {job}", job))
    db.execute("INSERT INTO plan VALUES (?, ?, '2026-01-02', '{}')", (job, job))
    db.execute(
        "INSERT INTO build (id, plan_id, job_id, damper_id, pick, stack_name, stack, state) "
        "VALUES (?, ?, ?, ?, 1, 'compression stack', '[[20000, 100, 8000]]', 'done')",
        (job, job, job, job),
    )
    db.executemany("INSERT INTO build_line VALUES (?, ?, 'take', 1)", [(job, n) for n in used])
    for kind, movement, shelf, reserved in (("build", "reserved", 0, 1), ("done", "used", -1, -1)):
        step = db.execute(
            "INSERT INTO operation (at, kind, reason, job_id, build_id) VALUES ('2026-01-02', ?, 'x', ?, ?) "
            "RETURNING id",
            (kind, job, job),
        ).fetchone()[0]
        db.executemany(
            "INSERT INTO movement (operation_id, shim_id, kind, shelf, reserved) VALUES (?, ?, ?, ?, ?)",
            [(step, n, movement, shelf, reserved) for n in used],
        )
    db.execute(
        "INSERT INTO damper_state (damper_id, stack_name, at, origin, operation_id, stack) "
        "VALUES (?, 'compression stack', '2026-01-02', 'built', ?, '[[20000, 100, 8000]]')",
        (job, step),
    )


def median(act: Callable[[], object]) -> float:
    """Median time of an act. [ms]"""
    act()
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        act()
        times.append(1000 * (time.perf_counter() - start))
    return statistics.median(times)


def opened_and_free(folder: Path) -> None:
    """Do what a plan does: open the file and ask what is free."""
    with Ledger.open(folder) as ledger:
        free_stock(ledger)


def opened_and_received(folder: Path) -> None:
    """Do what a command that writes does: open the file, have it looked through, and write a step."""
    with Ledger.open(folder) as ledger:
        receive(ledger, ONE, 1, reason="invoice")


def summed(bare: sqlite3.Connection) -> list[tuple[object, ...]]:
    """Rows of the plain sum."""
    return bare.execute(BARE_SUM).fetchall()


def main() -> None:
    """Print a row for each size."""
    sizes = [int(word) for word in sys.argv[1:]] or SIZES
    print(f"Median of {RUNS} runs, ms. {TYPES} types, {MOVEMENTS_A_JOB} movements a job.")
    print(
        "movements   jobs  bare sum  listing  plan's stock  where all  reorder  one step  with opening   check (once)  MB"
    )
    for size in sizes:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            ledger, jobs = grown(folder, size)
            with ledger, closing(sqlite3.connect(folder / FILE_NAME)) as bare:
                count = bare.execute("SELECT count(*) FROM movement").fetchone()[0]
                start = time.perf_counter()
                assert examine(ledger) == ()
                check = 1000 * (time.perf_counter() - start)
                print(
                    f"{count:9} {jobs:6}"
                    f" {median(partial(summed, bare)):9.1f}"
                    f" {median(partial(shelf_levels, ledger)):8.1f}"
                    f" {median(partial(opened_and_free, folder)):13.1f}"
                    f" {median(partial(where_used, ledger)):10.1f}"
                    f" {median(partial(reorder, ledger, since='2026-01-01')):8.1f}"
                    f" {median(partial(receive, ledger, ONE, 1, reason='invoice')):9.1f}"
                    f" {median(partial(opened_and_received, folder)):13.0f}"
                    f" {check:14.0f}"
                    f" {(folder / FILE_NAME).stat().st_size / 1e6:4.0f}"
                )


if __name__ == "__main__":
    main()
