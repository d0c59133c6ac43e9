"""A copy of the ledger as it is at one moment, taken while benches go on working."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from pathlib import Path

from optimiser.ledger.connection import Ledger, readable_faults
from optimiser.ledger.errors import DamagedLedgerError, RefusedError, UnwritableLedgerError


def backup(ledger: Ledger, target: Path) -> int:
    """Copy the ledger to a new file, which is there whole or not at all.

    Returns
    -------
    int
        Size of the copy. [bytes]

    Raises
    ------
    RefusedError
        When the file exists: a backup never overwrites one.
    UnwritableLedgerError
        When the copy does not fit or the folder may not be written.
    """
    if target.exists():
        raise RefusedError(f"{target}: exists already; a backup never overwrites one. Give a new name.")
    if not target.parent.is_dir():
        raise RefusedError(f"{target}: the folder {target.parent} is not there. Make it, or name another.")
    part = target.with_name(f".{target.name}.part")
    try:
        _remove(part)
        with ledger.reading() as source:
            _copy(source, part, target)
        _synchronise(part)
        part.replace(target)
        if os.name == "posix":
            _synchronise(target.parent)
        return target.stat().st_size
    except OSError as error:
        raise UnwritableLedgerError(
            f"{target}: could not be written ({error.strerror}). No backup was made. "
            "Check the folder and its free room."
        ) from error
    finally:
        # What is left after a fault must not be taken for a backup; after success there is nothing left.
        with contextlib.suppress(OSError):
            _remove(part)


def _copy(source: sqlite3.Connection, part: Path, target: Path) -> None:
    with readable_faults(target), contextlib.closing(sqlite3.connect(part, isolation_level=None)) as copy:
        source.backup(copy)
        found = copy.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if found != "ok":
        raise DamagedLedgerError(
            f"{target}: the copy does not hold together ({found}). No backup was made. "
            "Run 'shimwright doctor' on the ledger itself."
        )


def _remove(part: Path) -> None:
    for ending in ("", "-wal", "-shm", "-journal"):
        part.with_name(part.name + ending).unlink(missing_ok=True)


def _synchronise(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
