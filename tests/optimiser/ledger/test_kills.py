"""Whatever moment the power goes: the file opens, the check is content, the step is there or it is not."""

import contextlib
import random
import shutil
import sqlite3
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from optimiser.ledger.check import examine
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.migrations import applied
from tests.helpers.counts import tries
from tests.helpers.ledger_shop import snapshot
from tests.optimiser.ledger.test_two_benches import Bench

OPERATIONS = ("first import", "import", "build", "done", "release", "migration", "backup")
KILLS_EACH = tries(quick=10, thorough=44)
"""Processes killed while they work, for each of seven operations: 308 in all, 70 in a quick run."""

MOST_TRIES = 400
"""A process that finished before its kill does not count, and is tried again."""


State = tuple[tuple[int, ...] | None, tuple[object, ...] | None]


@pytest.fixture
def bench() -> Iterator[Bench]:
    process = Bench()
    yield process
    process.close()


def state(folder: Path) -> State:
    """Everything there is to know without letting the library near the file, then with it."""
    path = folder / FILE_NAME
    if not path.exists():
        return None, None
    with contextlib.closing(sqlite3.connect(path)) as connection:
        migrated = tuple(applied(connection))
    with Ledger.open(folder) as ledger:
        assert examine(ledger) == ()
        return migrated, snapshot(ledger)


def asked(bench: Bench, order: Mapping[str, object]) -> dict[str, Any]:
    bench.tell(order)
    return bench.answer()


def test_kills_leave_every_step_wholly_there_or_wholly_not(
    bench: Bench, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    chance = random.Random(7)
    seen: Counter[tuple[str, bool, bool]] = Counter()
    for operation in OPERATIONS:
        template = tmp_path / operation
        assert asked(bench, {"prepare": (operation, str(template))}) == {}
        took = []
        for number in range(5):
            finished = tmp_path / f"{operation} finished {number}"
            whole = asked(bench, {"kill": (operation, str(template), str(finished), -1)})
            assert whole["status"] == 0
            took.append(whole["took"])
        untouched = tmp_path / f"{operation} untouched"
        shutil.copytree(template, untouched)
        allowed = [state(untouched), state(finished)]
        for number in range(MOST_TRIES):
            folder = tmp_path / f"{operation} {number}"
            delay = chance.uniform(0, 1.1 * min(took))
            killed = asked(bench, {"kill": (operation, str(template), str(folder), delay)})["killed"]
            copied = operation == "backup" and copy_is_whole(folder)
            after = state(folder)
            assert after in allowed
            held = copied if operation == "backup" else allowed.index(after) == len(allowed) - 1
            assert killed or held
            seen[operation, killed, held] += 1
            shutil.rmtree(folder)
            if seen[operation, True, False] + seen[operation, True, True] == KILLS_EACH:
                break
    report(seen, capsys)
    for operation in OPERATIONS:
        assert seen[operation, True, False] + seen[operation, True, True] == KILLS_EACH
        assert seen[operation, True, False] > 0


def copy_is_whole(folder: Path) -> bool:
    """Say whether the copy is there; if it is, it must be whole."""
    copy = folder / "copy.ledger"
    if not copy.exists():
        return False
    aside = folder / "restored"
    aside.mkdir()
    shutil.copy(copy, aside / FILE_NAME)
    assert state(aside) == state(folder)
    return True


def report(seen: Counter[tuple[str, bool, bool]], capsys: pytest.CaptureFixture[str]) -> None:
    with capsys.disabled():
        print(f"\nkills: {sum(n for (_, killed, _), n in seen.items() if killed)}")  # noqa: T201
        for operation in OPERATIONS:
            print(  # noqa: T201
                f"  {operation:13} killed before it held {seen[operation, True, False]:3}, after it held "
                f"{seen[operation, True, True]:3}; finished before the kill, not counted "
                f"{seen[operation, False, True]:3}"
            )
