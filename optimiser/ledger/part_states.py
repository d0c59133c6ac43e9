"""What oil, gas pressure and bleeds a damper has, as the ledger knows it, where a build swapped them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass

from optimiser.ledger.build_rows import Build
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import RefusedError
from optimiser.ledger.part_swaps import Swaps, value_json
from optimiser.model.damper_description import FiledParts, FiledValue


@dataclass(frozen=True, slots=True)
class PartState:
    """One part of a damper as it is now, where its file says what it was.

    Parameters
    ----------
    kind, name : which part; no name for oil and gas.
    value : what it is.
    """

    kind: str
    name: str
    value: FiledValue


def part_words(kind: str, name: str) -> str:
    """A part as a sentence names it: ``bleed 'base bleed'``."""
    return f"{kind} {name!r}" if name else kind


def found_parts(
    connection: sqlite3.Connection, damper: int, parts: FiledParts, *, at: str, as_found: bool
) -> None:
    """Take note of the parts that a damper came in with, of those that the shop has swapped before.

    Parameters
    ----------
    connection : inside a transaction.
    damper : its number.
    parts : as its file has them.
    at : when.
    as_found : they are as the file says, although the ledger knows later ones.

    Raises
    ------
    RefusedError
        When the file has a part as it was before the shop's last build.
    """
    for (kind, name), value in parts.items():
        now = _now(connection, damper, kind, name)
        if now is None or now == value_json(value):
            continue
        if not as_found and _known(connection, damper, kind, name, value):
            raise RefusedError(
                f"{part_words(kind, name)}: the damper file has it as it was before the shop's last build, "
                f"{value_json(value)}; expected {now}. Write that into the damper file and plan again, or "
                "say --as-found if somebody has put it back."
            )
        _write(connection, damper, kind, name, at=at, origin="as found", operation=None, value=value)


def begin_parts(connection: sqlite3.Connection, damper: int, swaps: Swaps, *, at: str) -> None:
    """Take note of what a build is to swap, where the ledger does not know it yet; inside a transaction."""
    for one in swaps.parts:
        if _now(connection, damper, one.kind, one.name) is None:
            _write(
                connection,
                damper,
                one.kind,
                one.name,
                at=at,
                origin="as found",
                operation=None,
                value=one.was,
            )


def refuse_other_parts(connection: sqlite3.Connection, damper: int, swaps: Swaps) -> None:
    """Refuse a build whose damper has other parts than its plan saw; inside a transaction."""
    for one in swaps.parts:
        now = _now(connection, damper, one.kind, one.name)
        if now is not None and now != value_json(one.was):
            raise RefusedError(
                f"{part_words(one.kind, one.name)}: the damper is no longer as this plan saw it. Plan again, "
                "then build."
            )


def write_parts(connection: sqlite3.Connection, build: Build, *, operation: int, at: str) -> None:
    """Write the parts of a build that is done; inside its transaction."""
    damper = connection.execute("SELECT damper_id FROM build WHERE id = ?", (build.number,)).fetchone()[0]
    for one in build.swaps.parts:
        _write(
            connection, damper, one.kind, one.name, at=at, origin="built", operation=operation, value=one.to
        )


def put_back_parts(connection: sqlite3.Connection, step: int, counter: int, *, at: str) -> None:
    """Write the parts as they were before a step; inside the transaction that takes it back."""
    built = connection.execute(
        "SELECT id, damper_id, kind, name FROM damper_part WHERE operation_id = ?", (step,)
    ).fetchall()
    connection.executemany(
        "INSERT INTO damper_part (damper_id, kind, name, at, origin, operation_id, value) "
        "SELECT damper_id, kind, name, ?, 'put back', ?, value FROM damper_part "
        "WHERE damper_id = ? AND kind = ? AND name = ? AND id < ? ORDER BY id DESC LIMIT 1",
        [(at, counter, one["damper_id"], one["kind"], one["name"], one["id"]) for one in built],
    )


def later_parts(ledger: Ledger, damper: int, parts: FiledParts) -> Iterator[PartState]:
    """The parts that a damper's file has as the ledger knew them earlier, as they are now.

    Parameters
    ----------
    ledger : the shop's ledger.
    damper : its number.
    parts : as the file has them.
    """
    with ledger.reading() as connection:
        for (kind, name), value in parts.items():
            now = _now(connection, damper, kind, name)
            if now not in {None, value_json(value)} and _known(connection, damper, kind, name, value):
                yield PartState(kind, name, json.loads(now or "null"))


def _now(connection: sqlite3.Connection, damper: int, kind: str, name: str) -> str | None:
    row = connection.execute(
        "SELECT value FROM damper_part WHERE damper_id = ? AND kind = ? AND name = ? "
        "ORDER BY id DESC LIMIT 1",
        (damper, kind, name),
    ).fetchone()
    return None if row is None else str(row[0])


def _known(connection: sqlite3.Connection, damper: int, kind: str, name: str, value: FiledValue) -> bool:
    row = connection.execute(
        "SELECT 1 FROM damper_part WHERE damper_id = ? AND kind = ? AND name = ? AND value = ?",
        (damper, kind, name, value_json(value)),
    ).fetchone()
    return row is not None


def _write(
    connection: sqlite3.Connection,
    damper: int,
    kind: str,
    name: str,
    *,
    at: str,
    origin: str,
    operation: int | None,
    value: FiledValue,
) -> None:
    connection.execute(
        "INSERT INTO damper_part (damper_id, kind, name, at, origin, operation_id, value) "
        "VALUES (?, ?, ?, ?, ?, ?, ?)",
        (damper, kind, name, at, origin, operation, value_json(value)),
    )
