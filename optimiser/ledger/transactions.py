"""All or nothing: how a block of changes begins and ends."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator

from optimiser.ledger.fault_words import commit_fault


@contextlib.contextmanager
def transaction(connection: sqlite3.Connection, *, last: Callable[[], None] | None = None) -> Iterator[None]:
    """Begin, then commit or roll back; the writer's lock is taken first, so that what is read still holds.

    Parameters
    ----------
    connection : the open file, in autocommit mode.
    last : what is done after the block, in the same transaction.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        if last is not None:
            last()
        _commit(connection)
    except BaseException:
        # A failed rollback must not hide why it was needed; closing the file rolls back as well.
        with contextlib.suppress(sqlite3.Error):
            if connection.in_transaction:
                connection.execute("ROLLBACK")
        raise


def _commit(connection: sqlite3.Connection) -> None:
    try:
        connection.execute("COMMIT")
    except sqlite3.Error as error:
        raise commit_fault(error) from error
