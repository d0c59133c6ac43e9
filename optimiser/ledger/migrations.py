"""From an older ledger to today's: numbered steps in one transaction, with the rows that record them."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from optimiser.ledger.errors import RESTORE, DamagedLedgerError, NewerLedgerError
from optimiser.ledger.schema import APPLICATION_ID, MIGRATIONS, Migration
from optimiser.ledger.seal import seal_all

_HEAD: Final = 100
"""Length of the header of an SQLite file, https://sqlite.org/fileformat.html, section 1.3. [bytes]"""
_MAGIC: Final = b"SQLite format 3\0"
_MARK: Final = slice(68, 72)

_RECORD = """
    CREATE TABLE IF NOT EXISTS migration (
        number INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, applied_at TEXT NOT NULL
    ) STRICT
"""


def applied(connection: sqlite3.Connection) -> dict[int, str]:
    """Migrations that the file has had, number to name; never writes."""
    known = connection.execute("SELECT 1 FROM sqlite_schema WHERE name = 'migration'").fetchone()
    if known is None:
        return {}
    return dict(connection.execute("SELECT number, name FROM migration ORDER BY number").fetchall())


def pending(connection: sqlite3.Connection) -> tuple[Migration, ...]:
    """Migrations that the file has yet to have, in order; never writes."""
    had = applied(connection)
    return tuple(step for step in MIGRATIONS if step.number not in had)


def refuse_foreign(path: Path, connection: sqlite3.Connection) -> None:
    """Leave alone what holds nothing of ours, and what a later shimwright wrote.

    Raises
    ------
    DamagedLedgerError
        For a file without the record that every ledger has.
    NewerLedgerError
        Naming the migration that this version does not know.
    """
    if not applied(connection):
        raise DamagedLedgerError(
            f"{path}: holds no table, expected a ledger. It was left as it is. {RESTORE}"
        )
    ours = {step.number: step.name for step in MIGRATIONS}
    newest = f"{MIGRATIONS[-1].number} '{MIGRATIONS[-1].name}'"
    for number, name in applied(connection).items():
        if ours.get(number) != name:
            raise NewerLedgerError(
                f"{path}: got a ledger with migration {number} '{name}', expected at most {newest}. "
                "A later shimwright wrote it; update this one. The file was left as it is."
            )


def refuse_headless(path: Path) -> None:
    """Leave alone a file that does not begin as a ledger does; SQLite would begin an empty one anew.

    Raises
    ------
    DamagedLedgerError
        Saying what the file is, and the way out.
    """
    with path.open("rb") as file:
        head = file.read(_HEAD)
    if not head:
        what = "is empty (0 bytes), expected a ledger"
    elif not head.startswith(_MAGIC):
        what = "does not begin as a ledger does: it is damaged or no ledger"
    elif len(head) < _HEAD:
        what = f"is cut off after {len(head)} bytes, expected a ledger"
    elif int.from_bytes(head[_MARK], "big") != APPLICATION_ID:
        what = "got a database of another program or a damaged one, expected a ledger"
    else:
        return
    raise DamagedLedgerError(f"{path}: {what}. It was left as it is. {RESTORE}")


def migrate(
    connection: sqlite3.Connection, transaction: Callable[[sqlite3.Connection], AbstractContextManager[None]]
) -> None:
    """Apply what is pending, all of it or nothing; whoever comes second finds it done.

    Parameters
    ----------
    connection : the open file.
    transaction : begins, and commits or rolls back, around the block that it is given.
    """
    if not pending(connection):
        return
    with transaction(connection):
        for step in pending(connection):
            _apply(connection, step)
        seal_all(connection)


def _apply(connection: sqlite3.Connection, step: Migration) -> None:
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(_RECORD)
    for statement in step.statements:
        connection.execute(statement)
    connection.execute(
        "INSERT INTO migration VALUES (?, ?, ?)",
        (step.number, step.name, datetime.now(UTC).isoformat(timespec="seconds")),
    )
