"""The one place that opens the ledger's file, and the one way to change it: all or nothing."""

from __future__ import annotations

import contextlib
import sqlite3
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Final

from optimiser.ledger.errors import (
    BusyLedgerError,
    DamagedLedgerError,
    LedgerError,
    NoLedgerError,
    RefusedError,
    UnwritableLedgerError,
)
from optimiser.ledger.migrations import migrate, pending, refuse_foreign

FILE_NAME: Final = "shimwright.ledger"
PATIENCE: Final = 30.0
"""How long one bench waits for another before it says so. [s]"""


def now() -> str:
    """The time as the ledger writes it: UTC, to the second."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def ledger_in(shop: Path) -> bool:
    """Whether a folder holds a ledger."""
    return (shop / FILE_NAME).is_file()


class Ledger:
    """A shop's open ledger; use it as a context manager.

    Parameters
    ----------
    path : the SQLite file.
    connection : open connection in autocommit mode; transactions are begun by :meth:`atomic` alone.
    clock : gives the time that operations are recorded with.
    """

    def __init__(self, path: Path, connection: sqlite3.Connection, clock: Callable[[], str] = now) -> None:
        self.path = path
        self.clock = clock
        self._connection = connection

    @classmethod
    def open(cls, shop: Path, *, create: bool = False, clock: Callable[[], str] = now) -> Ledger:
        """Open the ledger in a shop's folder, bringing an older file up to date.

        Parameters
        ----------
        shop : the folder.
        create : start a ledger when there is none.
        clock : gives the time that operations are recorded with.

        Raises
        ------
        LedgerError
            No ledger there, one from a later version, a damaged or an unwritable file.
        """
        path = shop / FILE_NAME
        if not create and not ledger_in(shop):
            raise NoLedgerError(
                f"{path}: there is no ledger here. Start one with "
                "'shimwright stock import shelf.csv --write', or name the shop's folder with --shop."
            )
        if not shop.is_dir():
            raise NoLedgerError(
                f"{shop}: no such folder; expected the shop's. Make it, or name another --shop."
            )
        with readable_faults(path):
            connection = sqlite3.connect(path, timeout=PATIENCE, isolation_level=None, cached_statements=256)
        try:
            with readable_faults(path):
                _prepare(path, connection)
        except BaseException:
            connection.close()
            raise
        return cls(path, connection, clock)

    def __enter__(self) -> Ledger:
        """Hand out the ledger itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the file; nothing is pending, because every change was a transaction of its own."""
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    @contextlib.contextmanager
    def atomic(self) -> Iterator[sqlite3.Connection]:
        """Change the ledger: all of the block is kept, or none of it."""
        with readable_faults(self.path), transaction(self._connection):
            yield self._connection

    @contextlib.contextmanager
    def unguarded(self) -> Iterator[sqlite3.Connection]:
        """Speak to SQLite outside any transaction, for what it does not do inside one."""
        with readable_faults(self.path):
            yield self._connection

    @contextlib.contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Look at the ledger as it is at one moment, while others go on writing."""
        with readable_faults(self.path):
            if self._connection.in_transaction:
                yield self._connection
                return
            self._connection.execute("BEGIN")
            try:
                yield self._connection
            finally:
                self._connection.execute("ROLLBACK")


@contextlib.contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Begin, then commit or roll back; the writer's lock is taken first, so that what is read still holds."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        # A failed rollback must not hide why it was needed; closing the file rolls back as well.
        with contextlib.suppress(sqlite3.Error):
            if connection.in_transaction:
                connection.execute("ROLLBACK")
        raise


@contextlib.contextmanager
def readable_faults(path: Path) -> Iterator[None]:
    """Say what SQLite found in words that tell a tuner what to do."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        raise _in_words(path, error) from error
    except UnicodeEncodeError as error:
        raise RefusedError(
            f"got {error.object!r}, expected text; the terminal sent bytes that are none. Type it again."
        ) from error


def _in_words(path: Path, error: sqlite3.DatabaseError) -> LedgerError:
    name = getattr(error, "sqlite_errorname", "") or ""
    kept = "Nothing was changed."
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return BusyLedgerError(
            f"{path}: another bench has held the ledger for {PATIENCE:g} seconds. {kept} Try again."
        )
    if name.startswith("SQLITE_FULL"):
        return UnwritableLedgerError(f"{path}: the disk is full. {kept} Make room and try again.")
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")):
        return UnwritableLedgerError(
            f"{path}: the file or its folder may not be written. {kept} Ask for the right to write there."
        )
    if name.startswith("SQLITE_IOERR"):
        return UnwritableLedgerError(
            f"{path}: the disk did not take the change ({name}). {kept} Check its free room and its health."
        )
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
        return DamagedLedgerError(
            f"{path}: the file is damaged or no ledger ({error}). Copy it aside, then put your newest backup "
            "in its place."
        )
    return LedgerError(f"{path}: the ledger could not be used ({error}). {kept} Run 'shimwright doctor'.")


def _prepare(path: Path, connection: sqlite3.Connection) -> None:
    connection.row_factory = sqlite3.Row
    connection.execute("PRAGMA foreign_keys = ON")
    refuse_foreign(path, connection)
    # A commit that was reported must survive the plug being pulled.
    connection.execute("PRAGMA synchronous = FULL")
    if connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        _write_ahead(connection)
    if pending(connection):
        migrate(connection, transaction)


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Let readers and a writer work at once; the switch does not wait for others, so ask until they go."""
    end = time.monotonic() + PATIENCE
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if not error.sqlite_errorname.startswith("SQLITE_BUSY") or time.monotonic() > end:
                raise
            time.sleep(0.01)
        else:
            return
