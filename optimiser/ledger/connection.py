"""The one place that opens the ledger's file, and the one way to change it: all or nothing."""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Final

from optimiser.files.parts import part_of, remove_part
from optimiser.ledger.closing import note_closed
from optimiser.ledger.errors import (
    RESTORE,
    BusyLedgerError,
    DamagedLedgerError,
    NoLedgerError,
    UnwritableLedgerError,
)
from optimiser.ledger.fault_words import UNCHANGED, readable_faults
from optimiser.ledger.faults import damage
from optimiser.ledger.kept import note_kept
from optimiser.ledger.opening import (
    begun,
    opened_for_reading,
    opened_for_work,
    put_in_place,
)
from optimiser.ledger.seal import Seal, seal_now
from optimiser.ledger.transactions import transaction
from optimiser.ledger.write_ahead import has_log, identity, log_of

FILE_NAME: Final = "shimwright.ledger"


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
    opened : which file that is, whatever has its name later, as :func:`identity` gives it.
    clock : gives the time that operations are recorded with.
    begun_as : where a new ledger lies until it is closed; None when it is in its place.
    """

    def __init__(
        self,
        path: Path,
        connection: sqlite3.Connection,
        opened: tuple[int, int],
        clock: Callable[[], str] = now,
        begun_as: Path | None = None,
    ) -> None:
        self.path = path
        self.clock = clock
        self._connection = connection
        self._opened = opened
        self._begun_as = begun_as
        self._seal = Seal(connection)
        self._examined = False
        self._changing = False
        self._wrote = False

    @classmethod
    def open(cls, shop: Path, *, create: bool = False, clock: Callable[[], str] = now) -> Ledger:
        """Open the ledger in a shop's folder, bringing an older file up to date.

        Parameters
        ----------
        shop : the folder.
        create : start a ledger when there is none; it appears when it is closed, with all that was written to
            it, and not at all when that failed.
        clock : gives the time that operations are recorded with.

        Raises
        ------
        LedgerError
            No ledger there, one from a later version, a damaged or an unwritable file.
        """
        path = _place(shop, create=create)
        if not path.exists():
            part = part_of(path)
            with readable_faults(path):
                return cls(path, begun(part), identity(part), clock, begun_as=part)
        with readable_faults(path):
            opened = identity(path)
            return cls(path, opened_for_work(path, opened), opened, clock)

    @classmethod
    def look(cls, shop: Path) -> Ledger:
        """Open the ledger in a shop's folder to read it as it is: no file is made or changed."""
        path = _place(shop, create=False)
        with readable_faults(path):
            return cls(path, opened_for_reading(path), identity(path))

    def __enter__(self) -> Ledger:
        """Hand out the ledger itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the file; nothing is pending, because every change was a transaction of its own."""
        if kind is not None and self._begun_as is not None:
            self._connection.close()
            remove_part(self._begun_as)
        else:
            self.close()

    def close(self) -> None:
        """Close the file, and give a new ledger its place.

        Raises
        ------
        LedgerError
            When a new ledger cannot be put in its place, or another bench has put one there meanwhile.
        """
        seal = self._seal_now() if self._wrote else None
        if self._begun_as is None:
            self._connection.close()
            if self._wrote:
                note_closed(self.path, seal)
            return
        try:
            with readable_faults(self.path):
                put_in_place(self._connection, self._begun_as, self.path)
            note_closed(self.path, seal)
        except FileExistsError as error:
            if self._wrote:
                raise BusyLedgerError(
                    f"{self.path}: another bench began a ledger just now. {UNCHANGED} Give the command again."
                ) from error
        except OSError as error:
            raise UnwritableLedgerError(
                f"{self.path}: the ledger could not be begun ({error.strerror}). {UNCHANGED} Check "
                "the folder and its free room."
            ) from error
        finally:
            self._connection.close()
            with contextlib.suppress(OSError):
                remove_part(self._begun_as)

    @contextlib.contextmanager
    def atomic(self) -> Iterator[sqlite3.Connection]:
        """Change the ledger: all of the block is kept, or none of it; a block inside a block is part of it.

        Raises
        ------
        DamagedLedgerError
            Before the first change, when the check would call the file damaged.
        """
        if self._changing:
            yield self._connection
            return
        with readable_faults(self.path):
            self._refuse_damaged()
            self._seal.watch()
            self._seal.forget()
            before = self._connection.total_changes
            with transaction(self._connection, last=self._seal.write), self._one_block():
                self._refuse_replaced()
                yield self._connection
            self._wrote = True
            if self._connection.total_changes > before:
                note_kept()

    @contextlib.contextmanager
    def trial(self) -> Iterator[sqlite3.Connection]:
        """Change the ledger and take it all back at the end, to see whether the change would be refused."""
        with contextlib.suppress(_TakenBackError), self.atomic() as connection:
            yield connection
            raise _TakenBackError

    @contextlib.contextmanager
    def unguarded(self, *, stands: str = UNCHANGED) -> Iterator[sqlite3.Connection]:
        """Speak to SQLite outside any transaction, for what it does not do inside one.

        Parameters
        ----------
        stands : what is so when it fails, as a sentence.
        """
        with readable_faults(self.path, stands=stands):
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

    def _seal_now(self) -> str | None:
        with contextlib.suppress(sqlite3.Error):
            return seal_now(self._connection)
        return None

    @contextlib.contextmanager
    def _one_block(self) -> Iterator[None]:
        self._changing = True
        try:
            yield
        finally:
            self._changing = False

    def _refuse_damaged(self) -> None:
        """Check the books once; what this connection writes afterwards it seals itself."""
        if self._examined:
            return
        with self.reading() as connection:
            found = damage(connection)
        if found is not None:
            raise DamagedLedgerError(f"{self.path}: {found.what}. {UNCHANGED} {found.mend}")
        self._examined = True

    def _refuse_replaced(self) -> None:
        if identity(self._begun_as or self.path) != self._opened:
            raise BusyLedgerError(
                f"{self.path}: another ledger was put in its place while this one was open. {UNCHANGED} "
                "Give the command again."
            )


class _TakenBackError(Exception):
    """Ends a trial."""


def _place(shop: Path, *, create: bool) -> Path:
    path = shop / FILE_NAME
    if path.exists() and not path.is_file():
        raise DamagedLedgerError(
            f"{path}: got no file, expected a ledger. Move it away or name another --shop."
        )
    if not create and not path.exists():
        raise NoLedgerError(
            f"{path}: there is no ledger here. Start one with "
            "'shimwright stock import shelf.csv --write', or name the shop's folder with --shop."
        )
    if not path.exists() and has_log(path):
        raise DamagedLedgerError(
            f"{log_of(path)}: the log of a ledger that is not there. {UNCHANGED} {RESTORE} Or move it away."
        )
    if not shop.is_dir():
        raise NoLedgerError(f"{shop}: no such folder; expected the shop's. Make it, or name another --shop.")
    return path
