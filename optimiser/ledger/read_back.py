"""Stacks and plans that the ledger keeps as text, read back; a damaged one is named instead of raised."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator

from optimiser.ledger.errors import RESTORE, DamagedLedgerError


@contextlib.contextmanager
def as_written(what: str) -> Iterator[None]:
    """Say that the ledger is damaged where a text in it is not what the ledger writes.

    Parameters
    ----------
    what : the text is of, as ``a stack``.

    Raises
    ------
    DamagedLedgerError
        When it cannot be read, or holds something else.
    """
    try:
        yield
    except (ValueError, TypeError, KeyError, AttributeError, ZeroDivisionError, RecursionError):
        raise DamagedLedgerError(
            f"the ledger is damaged: {what} in it cannot be read any more. 'shimwright check' says what "
            f"else is wrong. {RESTORE}"
        ) from None
