"""What happens to stock: operations with a time and a reason, each a handful of movements, never edited."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from optimiser.ledger.shim_types import type_id
from optimiser.model.stock import ShimKey

OperationKind = Literal["import", "receive", "count", "scrap", "build", "done", "release", "undo"]
MovementKind = Literal[
    "received", "counted", "reserved", "released", "used", "returned", "scrapped", "undone"
]


@dataclass(frozen=True, slots=True)
class Movement:
    """A change in the count of one type.

    Parameters
    ----------
    key : the type.
    kind : what happened.
    shelf : change of what lies in the shop.
    reserved : change of what is reserved for jobs.
    """

    key: ShimKey
    kind: MovementKind
    shelf: int = 0
    reserved: int = 0


@dataclass(frozen=True, slots=True)
class Note:
    """The shop's own words about a type from now on.

    Parameters
    ----------
    key : the type.
    listed : whether the type is shown when there is none of it.
    drawer, label : free text.
    low_at : mark as low at this count or under it; None for never.
    readings : what free shims of it measured, one entry a shim, rising. [um]
    """

    key: ShimKey
    listed: bool = True
    drawer: str = ""
    label: str = ""
    low_at: int | None = None
    readings: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Operation:
    """One thing that a person did.

    Parameters
    ----------
    at : when, UTC.
    kind : what.
    reason : why, in words.
    job_id, build_id : what it belongs to, if to anything.
    undoes : the operation that it takes back, if any.
    """

    at: str
    kind: OperationKind
    reason: str
    job_id: int | None = None
    build_id: int | None = None
    undoes: int | None = None


def record(
    connection: sqlite3.Connection,
    operation: Operation,
    movements: Iterable[Movement],
    notes: Iterable[Note] = (),
) -> int:
    """Write an operation; for use inside a transaction.

    A type that the shelf has never listed is listed from now on.

    Returns
    -------
    int
        The operation's number, by which it can be undone.
    """
    number = int(
        connection.execute(
            "INSERT INTO operation (at, kind, reason, job_id, build_id, undoes) "
            "VALUES (?, ?, ?, ?, ?, ?) RETURNING id",
            (
                operation.at,
                operation.kind,
                operation.reason,
                operation.job_id,
                operation.build_id,
                operation.undoes,
            ),
        ).fetchone()[0]
    )
    noted = {note.key: note for note in notes}
    for movement in movements:
        shim = type_id(connection, movement.key)
        connection.execute(
            "INSERT INTO movement (operation_id, shim_id, kind, shelf, reserved) VALUES (?, ?, ?, ?, ?)",
            (number, shim, movement.kind, movement.shelf, movement.reserved),
        )
        if operation.kind != "undo" and movement.key not in noted:
            note = note_of(connection, movement.key)
            if not note.listed:
                noted[movement.key] = replace(note, listed=True)
    connection.executemany(
        "INSERT INTO shelf_note (operation_id, shim_id, listed, drawer, label, low_at, readings) "
        "VALUES (?, ?, ?, ?, ?, ?, ?)",
        [
            (
                number,
                type_id(connection, n.key),
                int(n.listed),
                n.drawer,
                n.label,
                n.low_at,
                kept_readings(n.readings),
            )
            for n in noted.values()
        ],
    )
    return number


def note_of(connection: sqlite3.Connection, key: ShimKey) -> Note:
    """The words that hold for a type: the latest that were not undone."""
    row = connection.execute(
        "SELECT listed, drawer, label, low_at, readings "
        "FROM shelf_note JOIN shim_type ON shim_type.id = shim_id "
        "WHERE outer_um = ? AND thickness_um = ? AND inner_um = ? "
        "AND operation_id NOT IN (SELECT undoes FROM operation WHERE undoes IS NOT NULL) "
        "ORDER BY shelf_note.id DESC LIMIT 1",
        (key.outer, key.thickness, key.inner),
    ).fetchone()
    if row is None:
        return Note(key, listed=False)
    return Note(
        key,
        bool(row["listed"]),
        row["drawer"],
        row["label"],
        row["low_at"],
        readings_kept(row["readings"]),
    )


def kept_readings(readings: Iterable[int]) -> str:
    """Readings as the ledger keeps them: micrometres with blanks between, rising."""
    return " ".join(str(reading) for reading in sorted(readings))


def readings_kept(text: str | None) -> tuple[int, ...]:
    """The same read back. [um]"""
    return tuple(int(reading) for reading in (text or "").split())
