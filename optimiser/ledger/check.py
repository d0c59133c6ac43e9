"""Does the ledger still hold together? The check looks, and never writes to it."""

from __future__ import annotations

from pathlib import Path

from optimiser.files.parts import abandoned_parts
from optimiser.ledger.connection import FILE_NAME, Ledger
from optimiser.ledger.errors import DamagedLedgerError
from optimiser.ledger.faults import LedgerFault, faults, read_through
from optimiser.ledger.write_ahead import has_log


def examine(ledger: Ledger) -> tuple[LedgerFault, ...]:
    """Check the file's pages, its content, its schema and every rule of the books; never writes.

    Raises
    ------
    DamagedLedgerError
        When the pages cannot be read at all.
    """
    with ledger.reading() as connection:
        return faults(connection)


def examine_shop(shop: Path) -> tuple[LedgerFault, ...]:
    """The same for the ledger in a folder, opened so that nothing is written, made or brought up to date.

    Raises
    ------
    LedgerError
        When there is none, when it is from a later version, or when the file cannot be read at all.
    OSError
        When the disk does not give the file.
    """
    try:
        return _examined(shop)
    except DamagedLedgerError:
        # As in the look at an open one: it is damaged, if it is so when all of it can be read.
        read_through(shop / FILE_NAME)
        return _examined(shop)


def _examined(shop: Path) -> tuple[LedgerFault, ...]:
    while True:
        before = _marks(shop)
        with Ledger.look(shop) as ledger:
            found = examine(ledger)
        # A file without a log is read without locks: what another bench wrote meanwhile is no fault.
        if not found or has_log(shop / FILE_NAME) or _marks(shop) == before:
            return found


def clear_abandoned(shop: Path) -> tuple[Path, ...]:
    """Remove the parts of files that killed runs left in the shop's folder, and say which they were."""
    parts = abandoned_parts(shop)
    for part in parts:
        part.unlink(missing_ok=True)
    return parts


def _marks(shop: Path) -> tuple[int, int, int]:
    found = (shop / FILE_NAME).stat()
    return found.st_ino, found.st_size, found.st_mtime_ns
