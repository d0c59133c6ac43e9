"""How the ledger's file is begun, opened for work, and opened to look at it only."""

from __future__ import annotations

import errno
import os
import sqlite3
import time
from pathlib import Path

from optimiser.files.parts import put_new, remove_part, synchronise
from optimiser.ledger import fault_words
from optimiser.ledger.closing import forget_closed
from optimiser.ledger.errors import BusyLedgerError, DamagedLedgerError
from optimiser.ledger.faults import damage
from optimiser.ledger.migrations import migrate, pending, refuse_foreign, refuse_headless
from optimiser.ledger.transactions import transaction
from optimiser.ledger.write_ahead import has_log, identity


def begun(part: Path) -> sqlite3.Connection:
    """Open a new ledger that holds nothing, under a name that is not yet a ledger's."""
    connection = _connected(part)
    try:
        connection.row_factory = sqlite3.Row
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA temp_store = MEMORY")
        connection.execute("PRAGMA synchronous = FULL")
        migrate(connection, transaction)
    except BaseException:
        connection.close()
        remove_part(part)
        raise
    return connection


def put_in_place(connection: sqlite3.Connection, part: Path, path: Path) -> None:
    """Close a ledger that was begun, and give it its name.

    Raises
    ------
    FileExistsError
        When another bench was first.
    """
    connection.execute("PRAGMA journal_mode = WAL")
    connection.close()
    if has_log(part):
        raise OSError(errno.EIO, os.strerror(errno.EIO))
    synchronise(part)
    put_new(part, path)


def opened_for_work(path: Path, expected: tuple[int, int]) -> sqlite3.Connection:
    """Open a ledger, leave alone what is none, and bring an older one up to date.

    Parameters
    ----------
    path : the file.
    expected : its :func:`identity`; another file that took its name meanwhile is refused.
    """
    refuse_headless(path)
    connection = _connected(path)
    try:
        connection.row_factory = sqlite3.Row
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA temp_store = MEMORY")
        refuse_foreign(path, connection)
        if identity(path) != expected:
            raise BusyLedgerError(
                f"{path}: another ledger was put in its place just now. Nothing was changed. "
                "Give the command again."
            )
        # A commit that was reported must survive the plug being pulled.
        connection.execute("PRAGMA synchronous = FULL")
        logged = connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        if not logged or pending(connection):
            if found := damage(connection):
                raise DamagedLedgerError(f"{path}: {found.what}. Nothing was changed. {found.mend}")
            if not logged:
                forget_closed(path)
                _write_ahead(connection)
            migrate(connection, transaction)
    except BaseException:
        connection.close()
        raise
    return connection


def opened_for_reading(path: Path) -> sqlite3.Connection:
    """Open a ledger of any version so that not even SQLite writes, beside it neither."""
    refuse_headless(path)
    # Without a log the file is all there is; SQLite would begin an empty log beside it.
    how = "mode=ro" if has_log(path) else "mode=ro&immutable=1"
    connection = sqlite3.connect(
        f"{path.resolve().as_uri()}?{how}", uri=True, timeout=fault_words.PATIENCE, isolation_level=None
    )
    try:
        connection.row_factory = sqlite3.Row
        refuse_foreign(path, connection)
    except BaseException:
        connection.close()
        raise
    return connection


def _connected(path: Path) -> sqlite3.Connection:
    return sqlite3.connect(path, timeout=fault_words.PATIENCE, isolation_level=None, cached_statements=256)


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Let readers and a writer work at once; the switch does not wait for others, so try until they go."""
    end = time.monotonic() + fault_words.PATIENCE
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if not error.sqlite_errorname.startswith("SQLITE_BUSY") or time.monotonic() > end:
                raise
            time.sleep(0.01)
        else:
            return
