"""Whether this command has changed a ledger and kept it: for what is said when its answer is lost."""

from __future__ import annotations

from contextvars import ContextVar
from typing import Final

STANDS: Final = (
    "What this command had written to the ledger by then stands: look with 'shimwright undo --list' before "
    "you do it again."
)

_kept: ContextVar[bool] = ContextVar("kept", default=False)


def begin() -> None:
    """Begin a command, which has changed nothing yet."""
    _kept.set(False)


def note_kept() -> None:
    """Note that a change is safe in a ledger."""
    _kept.set(True)


def what_stands() -> str:
    """What stands in the ledger, as a sentence; empty when the command has changed none."""
    return STANDS if _kept.get() else ""
