"""An invented shop in a few lines, for the ledger's tests and the processes that they start."""

import contextlib
import shutil
import sqlite3
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from unittest.mock import patch

from optimiser.files.shelf import Shelf, ShelfRow
from optimiser.ledger import migrations
from optimiser.ledger.build_rows import PlannedBuild
from optimiser.ledger.builds import reserve
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.jobs import JobNumbers, JobRecord, record_job
from optimiser.ledger.levels import shelf_levels
from optimiser.ledger.part_swaps import PartSwap, Swaps
from optimiser.ledger.schema import MIGRATIONS
from optimiser.ledger.seal import seal_all, sealed_tables
from optimiser.ledger.shelf_changes import import_shelf
from optimiser.model.stock import ShimKey

A = ShimKey(20000, 100, 8000)
B = ShimKey(19000, 150, 8000)
C = ShimKey(18000, 200, 8000)
D = ShimKey(17000, 100, 8000)
START = {A: 4, B: 2, C: 1, D: 0}
STACK, OTHER = "compression stack", "rebound stack"
OIL, OTHER_OIL = {"name": "fork oil", "iso_vg": 15}, {"name": "ISO VG 22", "iso_vg": 22}
Counts = Mapping[ShimKey, int]


def shelf_of(counts: Counts, **words: Any) -> Shelf:
    rows = tuple(ShelfRow(key, count, **words) for key, count in counts.items())
    return Shelf(rows, tuple(range(2, len(rows) + 2)))


def new_shop(folder: Path, counts: Counts | None = None) -> None:
    with Ledger.open(folder, create=True) as ledger:
        import_shelf(ledger, shelf_of(START if counts is None else counts), reason="first count")


def new_shop_of_old(folder: Path, had: int, counts: Counts | None = None) -> None:
    """Lay out the same shop as a version left it that knew only so many migrations."""
    with tempfile.TemporaryDirectory() as other:
        new_shop(Path(other), counts)
        with patch.object(migrations, "MIGRATIONS", MIGRATIONS[:had]):
            Ledger.open(folder, create=True).close()
        with contextlib.closing(sqlite3.connect(folder / FILE_NAME)) as old, old:
            old.execute("ATTACH ? AS today", (str(Path(other) / FILE_NAME),))
            for table, columns in sealed_tables(old).items():
                names, marks = ", ".join(columns), ", ".join("?" * len(columns))
                rows = old.execute(f"SELECT {names} FROM today.{table}").fetchall()  # noqa: S608
                if table != "migration":
                    old.executemany(f"INSERT INTO main.{table} ({names}) VALUES ({marks})", rows)  # noqa: S608
            seal_all(old)
    for note in folder.glob(f"{FILE_NAME}.sum"):
        note.unlink()


def new_job(ledger: Ledger, name: str, stack: Sequence[ShimKey] = (D, D), rider: str = "Ines") -> JobNumbers:
    """Enter a job on a damper of its own."""
    record = JobRecord(
        name=name,
        title=f"More support for {rider}",
        words=f"It wallows, says {rider}",
        rider=rider,
        rider_mass=74.0,
        machine="Oxlip 140",
        damper=f"Tarn of {name}",
        stacks={STACK: tuple(stack)},
    )
    return record_job(ledger, record)


def planned(
    numbers: JobNumbers,
    *,
    taken: Counts,
    returned: Counts | None = None,
    stack: Sequence[ShimKey] | None = None,
    before: Sequence[ShimKey] = (D, D),
    pick: int = 1,
) -> PlannedBuild:
    """Plan to put some shims in and take others out."""
    returned = returned or {}
    if stack is None:
        left = list(before)
        for key, count in returned.items():
            for _ in range(count):
                left.remove(key)
        stack = left + [key for key, count in taken.items() for _ in range(count)]
    return PlannedBuild(
        numbers.job_id, numbers.damper_id, '{"invented": true}', pick, taken, returned, STACK, tuple(stack)
    )


def reserved_job(
    ledger: Ledger,
    name: str,
    *,
    taken: Counts,
    returned: Counts | None = None,
    before: Sequence[ShimKey] = (D, D),
    rider: str = "Ines",
) -> JobNumbers:
    """Enter a job and reserve its shims."""
    numbers = new_job(ledger, name, stack=before, rider=rider)
    reserve(ledger, planned(numbers, taken=taken, returned=returned, before=before))
    return numbers


def new_pair(ledger: Ledger, name: str) -> JobNumbers:
    """Enter a job on a damper of two stacks, which has another hole in its bleed than the shop ever put in."""
    record = JobRecord(
        name=name,
        title="Both strokes",
        rider="Tobias",
        machine="Corbel",
        damper=f"Fork of {name}",
        stacks={STACK: (D, D), OTHER: (D, A)},
        parts={("oil", ""): OIL, ("bleed", "base bleed"): 0.45},
    )
    return record_job(ledger, record)


def planned_pair(numbers: JobNumbers) -> PlannedBuild:
    """Plan a B into one stack, a C and the other's D into the second, out of which A goes, and other oil."""
    swaps = Swaps((PartSwap("oil", "", OIL, OTHER_OIL),))
    return PlannedBuild(
        numbers.job_id,
        numbers.damper_id,
        '{"invented": true}',
        1,
        {B: 1, C: 1},
        {A: 1},
        STACK,
        (D, B),
        others={OTHER: (D, D, C)},
        swaps=swaps,
    )


def reserved_pair(ledger: Ledger, name: str) -> JobNumbers:
    """Enter a job on a damper of two stacks and reserve what both are to get."""
    numbers = new_pair(ledger, name)
    reserve(ledger, planned_pair(numbers))
    return numbers


def counts(ledger: Ledger) -> dict[ShimKey, tuple[int, int]]:
    """Read shelf and reserved of every type that has any."""
    return {
        level.key: (level.shelf, level.reserved)
        for level in shelf_levels(ledger)
        if (level.shelf, level.reserved) != (0, 0)
    }


def snapshot(ledger: Ledger) -> tuple[object, ...]:
    """Everything that an operation may change, without times and numbers."""
    with ledger.reading() as connection:
        builds = connection.execute(
            "SELECT job.name, pick, state FROM build JOIN job ON job.id = job_id ORDER BY build.id"
        ).fetchall()
        states = connection.execute(
            "SELECT damper_id, stack_name, origin, stack FROM damper_state ORDER BY id"
        ).fetchall()
        steps = connection.execute("SELECT kind, reason, undoes FROM operation ORDER BY id").fetchall()
    return (
        shelf_levels(ledger),
        tuple(map(tuple, builds)),
        tuple(map(tuple, states)),
        tuple(map(tuple, steps)),
    )


def everything(path: Path, *, without: Sequence[str] = ()) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table of a ledger's file, read past the library; some columns may be left out."""
    log = path.with_name(f"{path.name}-wal")
    how = "mode=ro" if log.exists() and log.stat().st_size else "mode=ro&immutable=1"
    with contextlib.closing(sqlite3.connect(f"{path.resolve().as_uri()}?{how}", uri=True)) as connection:
        tables = [row[0] for row in connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
        found = {}
        for table in tables:
            columns = [row[1] for row in connection.execute(f"PRAGMA table_info({table})")]
            kept = ", ".join(column for column in columns if column not in without)
            rows = connection.execute(f"SELECT {kept} FROM {table} NOT INDEXED").fetchall()  # noqa: S608
            found[table] = sorted(rows, key=repr)
    return found


def files_of(folder: Path) -> dict[str, bytes]:
    """Every file of a folder with what is in it."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def crashed(folder: Path, to: Path) -> None:
    """Copy a shop that is in use, log and all, as a power cut would leave it."""
    shutil.copytree(folder, to, ignore=shutil.ignore_patterns("*-shm"))
