"""Import, stock-take, receiving and scrapping: shown line by line first, written as one operation."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from optimiser.files.shelf import Shelf, ShelfRow
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import NotEnoughShimsError, RefusedError
from optimiser.ledger.levels import StockLevel, count_of, levels, shortage
from optimiser.ledger.movements import Movement, Note, Operation, note_of, record
from optimiser.model.stock import ShimKey


@dataclass(frozen=True, slots=True)
class CountDifference:
    """What one line of a shelf file would change.

    Parameters
    ----------
    line : its number in the file.
    row : what the file says.
    before : what the ledger says; None for a type it does not list.
    """

    line: int
    row: ShelfRow
    before: StockLevel | None

    @property
    def count_change(self) -> int:
        """How many come or go."""
        return self.row.count - (self.before.shelf if self.before else 0)

    @property
    def words_change(self) -> bool:
        """Whether drawer, label, low mark or readings differ, or the type is new."""
        before = self.before
        return before is None or (before.drawer, before.label, before.low_at, before.noted) != (
            self.row.drawer,
            self.row.label,
            self.row.low_at,
            self.row.readings,
        )


@dataclass(frozen=True, slots=True)
class ShelfDifferences:
    """What a shelf file would change.

    Parameters
    ----------
    lines : one for every line of the file, in its order.
    not_in_file : types that the ledger has some of and the file does not name; they stay as they are.
    operation : number of the operation that wrote it; None when nothing was to change or it was a dry run.
    """

    lines: tuple[CountDifference, ...]
    not_in_file: tuple[StockLevel, ...]
    operation: int | None = None

    def changing(self, *, words: bool) -> tuple[CountDifference, ...]:
        """The lines that change a count, or with ``words`` a drawer, label or low mark."""
        return tuple(d for d in self.lines if d.count_change or (words and d.words_change))


def compare(ledger: Ledger, shelf: Shelf) -> ShelfDifferences:
    """Say what a file would change, changing nothing."""
    with ledger.reading() as connection:
        return _compare(connection, shelf)


def compare_with_nothing(shelf: Shelf) -> ShelfDifferences:
    """Say what a file would bring into a shop that has no ledger yet."""
    lines = zip(shelf.lines, shelf.rows, strict=True)
    return ShelfDifferences(tuple(CountDifference(line, row, None) for line, row in lines), ())


def import_shelf(ledger: Ledger, shelf: Shelf, *, reason: str) -> ShelfDifferences:
    """Take counts, drawers, labels and low marks from a file, all of it or nothing.

    Raises
    ------
    RefusedError
        Naming every line that would leave fewer than are reserved for jobs.
    """
    return _write(ledger, shelf, kind="import", reason=reason)


def count_shelf(ledger: Ledger, shelf: Shelf, *, reason: str) -> ShelfDifferences:
    """Take the counts of a stock-take from a file; drawers, labels and low marks stay as they are."""
    return _write(ledger, shelf, kind="count", reason=reason)


def count_type(ledger: Ledger, key: ShimKey, count: int, *, reason: str) -> int:
    """Set right the count of one type; returns how many came or went."""
    with ledger.atomic() as connection:
        shelf, reserved = count_of(connection, key)
        if count < reserved:
            raise RefusedError(_too_few(str(key), count, reserved))
        if count != shelf:
            movement = Movement(key, "counted", shelf=count - shelf)
            record(connection, Operation(ledger.clock(), "count", reason), [movement])
    return count - shelf


def note_readings(ledger: Ledger, key: ShimKey, readings: Sequence[int], *, reason: str) -> int:
    """Write down what free shims of a type measure, in place of what was written before.

    Parameters
    ----------
    ledger : the shop's ledger.
    key : the type.
    readings : one entry a shim; none to forget them. [um]
    reason : in words.

    Returns
    -------
    int
        The operation's number.

    Raises
    ------
    RefusedError
        When more are read than are free.
    """
    with ledger.atomic() as connection:
        shelf, reserved = count_of(connection, key)
        if len(readings) > shelf - reserved:
            raise RefusedError(
                f"{key}: got {len(readings)} readings, expected at most the {shelf - reserved} free. "
                "Give each shim one reading, or set the count right with 'shimwright stock count' first."
            )
        note = replace(note_of(connection, key), readings=tuple(sorted(readings)))
        return record(connection, Operation(ledger.clock(), "count", reason), [], [note])


def receive(ledger: Ledger, key: ShimKey, count: int, *, reason: str) -> int:
    """Put new shims on the shelf; returns the operation's number."""
    with ledger.atomic() as connection:
        operation = Operation(ledger.clock(), "receive", reason)
        return record(connection, operation, [Movement(key, "received", shelf=count)])


def scrap(ledger: Ledger, key: ShimKey, count: int, *, reason: str) -> int:
    """Throw away bent or marked shims from the shelf; returns the operation's number.

    Raises
    ------
    NotEnoughShimsError
        Saying how many are free and who has the others.
    """
    with ledger.atomic() as connection:
        if lacking := shortage(connection, key, needed=count):
            raise NotEnoughShimsError([lacking], way_out="Count that drawer, or release a job first.")
        operation = Operation(ledger.clock(), "scrap", reason)
        return record(connection, operation, [Movement(key, "scrapped", shelf=-count)])


def _write(
    ledger: Ledger, shelf: Shelf, *, kind: Literal["import", "count"], reason: str
) -> ShelfDifferences:
    words = kind == "import"
    with ledger.atomic() as connection:
        found = _compare(connection, shelf)
        changing = found.changing(words=words)
        _refuse_below_reserved(changing)
        if not changing:
            return found
        movements = [Movement(d.row.key, "counted", shelf=d.count_change) for d in changing if d.count_change]
        notes = [_note(d.row) for d in changing if words and d.words_change]
        operation = record(connection, Operation(ledger.clock(), kind, reason), movements, notes)
    return ShelfDifferences(found.lines, found.not_in_file, operation)


def _compare(connection: sqlite3.Connection, shelf: Shelf) -> ShelfDifferences:
    known = {level.key: level for level in levels(connection)}
    named = {row.key for row in shelf.rows}
    return ShelfDifferences(
        tuple(
            CountDifference(line, row, known.get(row.key))
            for line, row in zip(shelf.lines, shelf.rows, strict=True)
        ),
        tuple(level for key, level in known.items() if key not in named and level.shelf),
    )


def _refuse_below_reserved(changing: Sequence[CountDifference]) -> None:
    broken = [d for d in changing if d.before is not None and d.row.count < d.before.reserved]
    if broken:
        lines = (
            _too_few(f"line {d.line}: {d.row.key}", d.row.count, d.before.reserved)
            for d in broken
            if d.before is not None
        )
        raise RefusedError("\n".join(lines))


def _too_few(what: str, count: int, reserved: int) -> str:
    return (
        f"{what}: got a count of {count}, expected at least the {reserved} that are reserved for jobs. "
        "Finish or release those jobs first; 'shimwright stock where' names them."
    )


def _note(row: ShelfRow) -> Note:
    return Note(
        row.key,
        listed=True,
        drawer=row.drawer,
        label=row.label,
        low_at=row.low_at,
        readings=row.readings,
    )
