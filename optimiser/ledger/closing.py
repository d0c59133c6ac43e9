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
from optimiser.ledger.seal import seal_now
from optimiser.ledger.write_ahead import has_log, identity

ENDING: Final = ".sum"
"""Of the note's name, after the ledger's own."""


def note_of(path: Path) -> Path:
    """Where the note on a ledger lies: beside the file itself, links followed."""
    real = path.resolve()
    return real.with_name(real.name + ENDING)


def note_closed(path: Path, seal: str | None) -> None:
    """Note a ledger that has been closed; a note that cannot be written leaves none, which says nothing.

    Parameters
    ----------
    path : the ledger; one beside which a log lies is open elsewhere, and not noted.
    seal : of it, from before it was closed.
    """
    note = note_of(path)
    with contextlib.suppress(OSError, InputError):
        if seal is None or has_log(path):
            note.unlink(missing_ok=True)
            return
        digest = _digest(path)
        if not has_log(path):
            write_whole(note, " ".join((seal, *_file(path), digest)))


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
    if len(noted) != 4 or noted[:3] != [seal_now(connection), *_file(path)] or has_log(path):
        return False
    changed = _digest(path) != noted[3]
    return changed and not has_log(path)


def _file(path: Path) -> list[str]:
    """Which file it is: one that was put in its place since has another number."""
    return list(map(str, identity(path)))


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
