"""The sum over the ledger's file as it was when it was last closed, kept in a file beside it.

The seal knows every row, and no byte besides. So whoever closes a ledger that has been written to notes a
digest of the whole file, together with the seal of that moment. While the seal is still the same, no step has
been made since, and every byte has to be as it was; once it is another, the note is out of date and says
nothing.
"""

from __future__ import annotations

import contextlib
import hashlib
import sqlite3
from pathlib import Path
from typing import Final

from optimiser.errors import InputError
from optimiser.files.writing import write_whole
from optimiser.ledger.seal import is_sealed

ENDING: Final = ".sum"
"""Of the note's name, after the ledger's own."""


def note_of(path: Path) -> Path:
    """Where the note on a ledger lies: beside the file itself, links followed."""
    real = path.resolve()
    return real.with_name(real.name + ENDING)


def seal_now(connection: sqlite3.Connection) -> str | None:
    """The seal as one line; None in a ledger from before there were seals."""
    if not is_sealed(connection):
        return None
    rows = connection.execute("SELECT name, rows, digest FROM seal ORDER BY name").fetchall()
    return hashlib.sha256(repr([tuple(row) for row in rows]).encode()).hexdigest()


def note_closed(path: Path, seal: str | None) -> None:
    """Note a ledger that has been closed; a note that cannot be written leaves none, which says nothing.

    Parameters
    ----------
    path : the ledger; one beside which a log lies is open elsewhere, and not noted.
    seal : of it, from before it was closed.
    """
    note = note_of(path)
    with contextlib.suppress(OSError, InputError):
        if seal is None or _open_elsewhere(path):
            note.unlink(missing_ok=True)
            return
        digest = _digest(path)
        if not _open_elsewhere(path):
            write_whole(note, f"{seal} {_file(path)} {digest}\n")


def forget_closed(path: Path) -> None:
    """Remove the note, before another file takes the ledger's place."""
    note_of(path).unlink(missing_ok=True)


def changed_since_closed(path: Path, connection: sqlite3.Connection) -> bool:
    """Whether bytes have changed since the ledger was closed, although no row has.

    Raises
    ------
    OSError
        When the disk does not give the file.
    """
    try:
        noted = note_of(path).read_text(encoding="ascii").split()
    except (FileNotFoundError, UnicodeDecodeError):
        return False
    if len(noted) != 3 or noted[:2] != [seal_now(connection), _file(path)] or _open_elsewhere(path):
        return False
    changed = _digest(path) != noted[2]
    return changed and not _open_elsewhere(path)


def _open_elsewhere(path: Path) -> bool:
    real = path.resolve()
    log = real.with_name(f"{real.name}-wal")
    return log.exists() and log.stat().st_size > 0


def _file(path: Path) -> str:
    """Which file it is: one that was put in its place since has another number."""
    return str(path.stat().st_ino)


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
