"""What SQLite found, in words that tell a tuner what stands and what to do."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from optimiser.ledger.errors import (
    RESTORE,
    BusyLedgerError,
    DamagedLedgerError,
    LedgerError,
    RefusedError,
    UnwritableLedgerError,
)

PATIENCE: Final = 30.0
"""How long one bench waits for another before it says so. [s]"""

UNCHANGED: Final = "Nothing was changed."
UNSURE: Final = (
    "Whether the step was kept is not sure: look with 'shimwright undo --list' before you do it again."
)
_SURELY_NOT_KEPT: Final = ("SQLITE_BUSY", "SQLITE_FULL", "SQLITE_IOERR_WRITE", "SQLITE_CONSTRAINT")


class UnsureCommitError(sqlite3.OperationalError):
    """The disk failed after a step was written and before it was safe there."""


def commit_fault(error: sqlite3.Error) -> sqlite3.Error:
    """The fault of a commit, told apart by whether the step can have been kept all the same."""
    name = getattr(error, "sqlite_errorname", "") or ""
    if name.startswith(_SURELY_NOT_KEPT):
        return error
    unsure = UnsureCommitError(str(error))
    unsure.sqlite_errorname = name
    return unsure


@contextlib.contextmanager
def readable_faults(path: Path, *, stands: str = UNCHANGED) -> Iterator[None]:
    """Turn what SQLite raises into an error that a user may see.

    Parameters
    ----------
    path : the file that is worked with.
    stands : what is so after a fault, as a sentence.
    """
    try:
        yield
    except sqlite3.DatabaseError as error:
        raise _in_words(path, error, UNSURE if isinstance(error, UnsureCommitError) else stands) from error
    except UnicodeEncodeError as error:
        raise RefusedError(
            f"got {error.object!r}, expected text; the terminal sent bytes that are none. Type it again."
        ) from error


def _in_words(path: Path, error: sqlite3.DatabaseError, stands: str) -> LedgerError:
    name = getattr(error, "sqlite_errorname", "") or ""
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return BusyLedgerError(
            f"{path}: another bench has held the ledger for {PATIENCE:g} seconds. {stands} Try again."
        )
    if name.startswith("SQLITE_FULL"):
        return UnwritableLedgerError(f"{path}: the disk is full. {stands} Make room and try again.")
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")):
        return UnwritableLedgerError(
            f"{path}: the file or its folder may not be written. {stands} Ask for the right to write there."
        )
    if name.startswith("SQLITE_IOERR"):
        return UnwritableLedgerError(
            f"{path}: the disk did not take the change ({name}). {stands} Check its free room and its health."
        )
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")) or "decode to UTF-8" in str(error):
        return DamagedLedgerError(
            f"{path}: the file could not be read as a ledger ({error}). {stands} 'shimwright check' says "
            f"whether it is damaged, or the disk is. {RESTORE}"
        )
    return LedgerError(f"{path}: the ledger could not be used ({error}). {stands} Run 'shimwright check'.")
