"""What can go wrong in the ledger, as types a caller can tell apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from optimiser.errors import ShimwrightError
from optimiser.model.stock import ShimKey

RESTORE: Final = (
    "To mend it, put your newest backup in its place with 'shimwright restore BACKUP', which sets this file "
    "aside; then count the drawers that changed since. Without a backup, save what can be read with "
    "'shimwright stock export --out shelf.csv', move the file away and import that."
)
"""The way out of a damaged ledger."""


class LedgerError(ShimwrightError):
    """The base: the message says what stands and the way out."""


class NoLedgerError(LedgerError):
    """There is no ledger in this folder."""


class NewerLedgerError(LedgerError):
    """The file was written by a later shimwright and is left alone."""


class DamagedLedgerError(LedgerError):
    """The file is not a ledger, or its pages cannot be read."""


class UnwritableLedgerError(LedgerError):
    """The disk is full, or the folder or the file may not be written."""


class BusyLedgerError(LedgerError):
    """Another program held the ledger for longer than a bench waits."""


class RefusedError(LedgerError):
    """The ledger's records do not allow this step."""


@dataclass(frozen=True, slots=True)
class Shortage:
    """A type of which there is less than a step needs.

    Parameters
    ----------
    key : the type.
    needed : how many the step takes.
    free : how many are on the shelf and reserved for nobody.
    held_by : names of the jobs that have the others, the latest first.
    """

    key: ShimKey
    needed: int
    free: int
    held_by: tuple[str, ...]

    def __str__(self) -> str:
        """One line for the bench."""
        has = f"; job {', '.join(repr(name) for name in self.held_by)} has the rest" if self.held_by else ""
        hole = f" (hole {self.key.inner / 1000:g} mm)"
        return f"{self.key}{hole}: needs {self.needed}, {self.free} free on the shelf{has}"


class NotEnoughShimsError(LedgerError):
    """Shims are gone or reserved for another job.

    Parameters
    ----------
    shortages : what lacks, and who has it.
    way_out : what to do now, as a sentence.
    """

    def __init__(self, shortages: Sequence[Shortage], *, way_out: str) -> None:
        self.shortages = tuple(shortages)
        self.way_out = way_out
        super().__init__("\n".join([*(str(shortage) for shortage in shortages), way_out]))
