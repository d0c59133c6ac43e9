"""A copy of the ledger as it is at one moment, taken while benches go on working."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import stat
from pathlib import Path

from optimiser.files.parts import part_of, put_new, remove_part, synchronise
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import DamagedLedgerError, RefusedError, UnwritableLedgerError
from optimiser.ledger.fault_words import readable_faults
from optimiser.ledger.faults import damage

_NONE_MADE = "No backup was made."


def backup(ledger: Ledger, target: Path) -> int:
    """Copy the ledger to a new file, which is there whole or not at all, with the ledger's own rights.

    Returns
    -------
    int
        Size of the copy. [bytes]

    Raises
    ------
    RefusedError
        When the file exists: a backup never overwrites one, also not one that came while it was made.
    DamagedLedgerError
        When the check would call the copy damaged.
    UnwritableLedgerError
        When the copy does not fit or the folder may not be written.
    """
    if os.path.lexists(target):
        raise _taken(target)
    if not target.parent.is_dir():
        raise RefusedError(f"{target}: the folder {target.parent} is not there. Make it, or name another.")
    part = part_of(target)
    try:
        os.close(
            os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, stat.S_IMODE(ledger.path.stat().st_mode))
        )
        with ledger.reading() as source:
            copy_checked(source, part, named=target)
        size = part.stat().st_size
        put_new(part, target)
    except FileExistsError as error:
        raise _taken(target) from error
    except PermissionError as error:
        raise UnwritableLedgerError(
            f"{target}: the folder may not be written. {_NONE_MADE} Ask for the right to write there."
        ) from error
    except OSError as error:
        raise UnwritableLedgerError(
            f"{target}: could not be written ({error.strerror}). {_NONE_MADE} "
            "Check the folder and its free room."
        ) from error
    finally:
        # What is left after a fault must not be taken for a backup; after success there is nothing left.
        with contextlib.suppress(OSError):
            remove_part(part)
    return size


def copy_checked(source: sqlite3.Connection, part: Path, *, named: Path) -> None:
    """Copy an open ledger into an empty file, through to the disk, and check the copy.

    Parameters
    ----------
    source : the ledger, read at one moment.
    part : the empty file.
    named : what the copy is called in messages.
    """
    with (
        readable_faults(named, stands=_NONE_MADE),
        contextlib.closing(sqlite3.connect(part, isolation_level=None)) as copy,
    ):
        source.backup(copy)
        found = damage(copy)
    if found is not None:
        raise DamagedLedgerError(
            f"{named}: the copy does not hold together ({found.what}). {_NONE_MADE} "
            "Run 'shimwright check' on the ledger itself."
        )
    synchronise(part)


def _taken(target: Path) -> RefusedError:
    return RefusedError(f"{target}: exists already; a backup never overwrites one. Give a new name.")
