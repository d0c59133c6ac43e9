"""Back to a backup: ledger and log are set aside, and the checked copy takes their place in one step."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import sqlite3
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from optimiser.files.parts import part_of, put_new, remove_part, synchronise, synchronise_folder
from optimiser.ledger.closing import forget_closed
from optimiser.ledger.connection import FILE_NAME, now
from optimiser.ledger.errors import BusyLedgerError, DamagedLedgerError, RefusedError, UnwritableLedgerError
from optimiser.ledger.fault_words import UNCHANGED, readable_faults
from optimiser.ledger.faults import damage
from optimiser.ledger.opening import opened_for_reading
from optimiser.ledger.write_ahead import log_of


@dataclass(frozen=True, slots=True)
class Restored:
    """What a restore did.

    Parameters
    ----------
    ledger : the file that is the ledger now.
    aside : where the ledger from before is; None when there was none. Its log, if it could not be folded into
        it, has the same name with ``-wal`` behind it.
    last_step : number and time of the last step that the ledger now holds; None when it holds none.
    """

    ledger: Path
    aside: Path | None
    last_step: tuple[int, str] | None


def restore(shop: Path, backup: Path) -> Restored:
    """Put a backup in the ledger's place.

    A kill at any moment leaves the ledger from before, or the one from the backup. Where the one from before
    is damaged, its log may be set aside already.

    Parameters
    ----------
    shop : the shop's folder.
    backup : the copy that ``shimwright backup`` made; it is only read, and stays.

    Raises
    ------
    RefusedError
        When there is no such file or folder, or it is the ledger itself.
    DamagedLedgerError
        When the backup is no ledger, or the check calls it damaged.
    BusyLedgerError
        When another shimwright has the ledger open.
    """
    ledger = Path(os.path.realpath(shop / FILE_NAME))
    if not shop.is_dir():
        raise RefusedError(f"{shop}: no such folder; expected the shop's. Make it, or name another --shop.")
    if not backup.is_file():
        raise RefusedError(f"{backup}: no such file; expected a backup. {UNCHANGED} Check the name.")
    if ledger.exists() and backup.samefile(ledger):
        raise RefusedError(f"{backup}: is the ledger itself, expected a backup of it. {UNCHANGED}")
    part = part_of(ledger)
    try:
        last_step = _copied(backup, part, like=ledger)
        forget_closed(ledger)
        with _nobody_else(ledger):
            aside = _set_aside(ledger)
            try:
                part.replace(ledger)
            except OSError:
                _take_back(ledger, aside)
                raise
        with contextlib.suppress(OSError):
            synchronise_folder(ledger)
    except OSError as error:
        raise UnwritableLedgerError(
            f"{ledger}: the backup could not be put in its place ({error.strerror}). "
            "The ledger holds what it held. Check the folder and its free room."
        ) from error
    finally:
        with contextlib.suppress(OSError):
            remove_part(part)
    return Restored(ledger, aside, last_step)


def _copied(backup: Path, part: Path, *, like: Path) -> tuple[int, str] | None:
    """Copy the backup, check the copy, and read its last step; nothing is written beside the backup."""
    rights = stat.S_IMODE((like if like.exists() else backup).stat().st_mode)
    os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, rights))
    shutil.copyfile(backup, part)
    part.chmod(rights)
    synchronise(part)
    with readable_faults(backup), contextlib.closing(opened_for_reading(part)) as copy:
        if found := damage(copy):
            raise DamagedLedgerError(
                f"{backup}: this backup is damaged itself ({found.what}). {UNCHANGED} Name an older one."
            )
        row = copy.execute("SELECT id, at FROM operation ORDER BY id DESC LIMIT 1").fetchone()
    return None if row is None else (row[0], row[1])


@contextlib.contextmanager
def _nobody_else(ledger: Path) -> Iterator[None]:
    """Fold the log into the ledger and keep every other program out until the block is through.

    A file that SQLite cannot read has no log to be folded, and nobody works with it.
    """
    if not ledger.exists() or ledger.stat().st_size == 0:
        yield
        return
    with readable_faults(ledger):
        connection = sqlite3.connect(ledger, timeout=1.0, isolation_level=None)
    with contextlib.closing(connection) as lock:
        try:
            lock.execute("PRAGMA locking_mode = EXCLUSIVE")
            if lock.execute("PRAGMA journal_mode = DELETE").fetchall() != [("delete",)]:
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            lock.execute("BEGIN EXCLUSIVE")
        except sqlite3.DatabaseError as error:
            name = getattr(error, "sqlite_errorname", "") or ""
            if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
                raise BusyLedgerError(
                    f"{ledger}: another shimwright has the ledger open. {UNCHANGED} Close it and try again."
                ) from error
            if not name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
                with readable_faults(ledger):
                    raise
        yield


def _set_aside(ledger: Path) -> Path | None:
    """Give the ledger a second name, and its log too if one is left."""
    if not ledger.exists():
        _log_aside(ledger, None)
        return None
    aside = _free_name(ledger)
    try:
        os.link(ledger, aside)
    except OSError:
        copy = part_of(ledger)
        shutil.copy2(ledger, copy)
        synchronise(copy)
        put_new(copy, aside)
    _log_aside(ledger, aside)
    synchronise_folder(ledger)
    return aside


def _take_back(ledger: Path, aside: Path | None) -> None:
    """The ledger is still in its place: its second name goes, and its log comes back."""
    with contextlib.suppress(OSError):
        if aside is not None:
            log = aside.with_name(f"{aside.name}-wal")
            if log.exists():
                log.replace(log_of(ledger))
            aside.unlink()


def _log_aside(ledger: Path, aside: Path | None) -> None:
    """A log that is left belongs to the ledger that goes; SQLite would add it to the one that comes."""
    log = log_of(ledger)
    if log.exists():
        log.replace(log.with_name(f"{(aside or _free_name(ledger)).name}-wal"))
    log.with_name(f"{ledger.name}-shm").unlink(missing_ok=True)
    log.with_name(f"{ledger.name}-journal").unlink(missing_ok=True)


def _free_name(ledger: Path) -> Path:
    moment = now()[:19].replace(":", "-")
    name = ledger.with_name(f"{ledger.name}.aside-{moment}")
    number = 2
    while os.path.lexists(name) or os.path.lexists(f"{name}-wal"):
        name = ledger.with_name(f"{ledger.name}.aside-{moment}-{number}")
        number += 1
    return name
