"""From an older ledger to today's: numbered steps, each in one transaction with the row that records it."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from pathlib import Path

from optimiser.ledger.errors import DamagedLedgerError, NewerLedgerError
from optimiser.ledger.schema import APPLICATION_ID, MIGRATIONS, Migration

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
    """Leave alone what is not ours, and what a later shimwright wrote.

    Raises
    ------
    DamagedLedgerError
        For a database of another program.
    NewerLedgerError
        Naming the migration that this version does not know.
    """
    # Tables first: a bench that is just starting the ledger sets the mark together with its first table.
    tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    if tables and mark != APPLICATION_ID:
        raise DamagedLedgerError(
            f"{path}: got a database of another program, expected a ledger. "
            "Move it away or name another --shop."
        )
    ours = {step.number: step.name for step in MIGRATIONS}
    newest = f"{MIGRATIONS[-1].number} '{MIGRATIONS[-1].name}'"
    for number, name in applied(connection).items():
        if ours.get(number) != name:
            raise NewerLedgerError(
                f"{path}: got a ledger with migration {number} '{name}', expected at most {newest}. "
                "A later shimwright wrote it; update this one. The file was left as it is."
            )


def migrate(
    connection: sqlite3.Connection, transaction: Callable[[sqlite3.Connection], AbstractContextManager[None]]
) -> None:
    """Apply what is pending; whoever comes second finds it done.

    Parameters
    ----------
    connection : the open file.
    transaction : begins, and commits or rolls back, around the block that it is given.
    """
    while steps := pending(connection):
        with transaction(connection):
            if steps[0] in pending(connection):
                _apply(connection, steps[0])


def _apply(connection: sqlite3.Connection, step: Migration) -> None:
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(_RECORD)
    for statement in step.statements:
        connection.execute(statement)
    connection.execute(
        "INSERT INTO migration VALUES (?, ?, ?)",
        (step.number, step.name, datetime.now(UTC).isoformat(timespec="seconds")),
    )
