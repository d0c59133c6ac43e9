"""Taking a step back by a counter-movement, so that the past stays readable."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from dataclasses import dataclass

from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import NotEnoughShimsError, RefusedError, Shortage
from optimiser.ledger.levels import shortage
from optimiser.ledger.movements import Movement, Operation, record
from optimiser.ledger.shim_types import key_of
from optimiser.stock import ShimKey

_AFTER_UNDO = {
    "build": ("reserved", "undone"),
    "done": ("done", "reserved"),
    "release": ("released", "reserved"),
}
"""The state that a build must be in, and the one that it goes to, when a step of its is undone."""


@dataclass(frozen=True, slots=True)
class PastOperation:
    """A step in the ledger's past.

    Parameters
    ----------
    number : by which it can be undone.
    at : when, UTC.
    kind : what was done.
    reason : why.
    job : name of the job it belongs to, if any.
    shims : how many shims it moved.
    undoes : number of the step that it takes back, if any.
    undone : whether it was taken back.
    """

    number: int
    at: str
    kind: str
    reason: str
    job: str | None
    shims: int
    undoes: int | None
    undone: bool


def past_operations(ledger: Ledger, *, most: int) -> tuple[PastOperation, ...]:
    """The last steps, the latest first."""
    with ledger.reading() as connection:
        return tuple(_past(row) for row in connection.execute(f"{_PAST} ORDER BY o.id DESC LIMIT ?", (most,)))


def undo(ledger: Ledger, number: int | None = None) -> PastOperation:
    """Take back one step, the last that still stands unless a number is given.

    Returns
    -------
    PastOperation
        The step that was taken back.

    Raises
    ------
    RefusedError
        When there is none, or a later step rests on it.
    NotEnoughShimsError
        When its shims have gone elsewhere since.
    """
    with ledger.atomic() as connection:
        step = _step(connection, number)
        rows = connection.execute(
            "SELECT outer_um, thickness_um, inner_um, shelf, reserved FROM movement "
            "JOIN shim_type ON shim_type.id = shim_id WHERE operation_id = ?",
            (step["id"],),
        ).fetchall()
        counters = [Movement(key_of(row), "undone", -row["shelf"], -row["reserved"]) for row in rows]
        _refuse_shortage(connection, counters, step["id"])
        # What comes back goes first, so that no count is short on the way to a state that holds.
        counters.sort(key=lambda movement: movement.reserved - movement.shelf)
        operation = Operation(
            ledger.clock(),
            "undo",
            f"step {step['id']} ({step['kind']}) taken back",
            step["job_id"],
            step["build_id"],
            undoes=step["id"],
        )
        if step["build_id"] is not None:
            _put_back_build(connection, step)
        counter = record(connection, operation, counters)
        if step["kind"] == "done":
            _put_back_stack(connection, step, counter, at=ledger.clock())
        return _past(connection.execute(f"{_PAST} WHERE o.id = ?", (step["id"],)).fetchone())


_PAST = """
    SELECT o.id, o.at, o.kind, o.reason, job.name AS job, o.undoes, u.id AS undone_by,
           (
               SELECT coalesce(sum(max(abs(shelf), abs(reserved))), 0) FROM movement WHERE operation_id = o.id
           ) AS shims
    FROM operation AS o LEFT JOIN job ON job.id = o.job_id LEFT JOIN operation AS u ON u.undoes = o.id
"""


def _past(row: sqlite3.Row) -> PastOperation:
    return PastOperation(
        row["id"],
        row["at"],
        row["kind"],
        row["reason"],
        row["job"],
        row["shims"],
        row["undoes"],
        row["undone_by"] is not None,
    )


def _step(connection: sqlite3.Connection, number: int | None) -> sqlite3.Row:
    standing = (
        "SELECT id, kind, job_id, build_id FROM operation AS o "
        "WHERE kind <> 'undo' AND NOT EXISTS (SELECT 1 FROM operation AS u WHERE u.undoes = o.id)"
    )
    if number is None:
        row: sqlite3.Row | None = connection.execute(f"{standing} ORDER BY id DESC LIMIT 1").fetchone()
        if row is None:
            raise RefusedError("Nothing to undo: the ledger holds no step that still stands.")
        return row
    row = connection.execute(f"{standing} AND id = ?", (number,)).fetchone()
    if row is None:
        raise RefusedError(
            f"step {number}: not there, taken back already, or itself an undo; expected the number of a "
            "step that "
            "still stands. 'shimwright undo --list' shows them; what an undo took back is simply done again."
        )
    return row


def _refuse_shortage(connection: sqlite3.Connection, counters: list[Movement], number: int) -> None:
    needed: dict[ShimKey, int] = defaultdict(int)
    for movement in counters:
        needed[movement.key] += movement.reserved - movement.shelf
    lacking: list[Shortage] = [
        short
        for key, count in sorted(needed.items())
        if count > 0 and (short := shortage(connection, key, needed=count))
    ]
    if lacking:
        raise NotEnoughShimsError(
            lacking,
            way_out=f"Step {number} cannot be taken back while they are gone; undo what took them first.",
        )


def _put_back_build(connection: sqlite3.Connection, step: sqlite3.Row) -> None:
    needed, after = _AFTER_UNDO[step["kind"]]
    build = connection.execute(
        "SELECT id, job_id, damper_id, stack_name, state FROM build WHERE id = ?", (step["build_id"],)
    ).fetchone()
    if build["state"] != needed:
        raise RefusedError(
            f"step {step['id']}: a later step rests on it; the build is {build['state']!r}, expected "
            f"{needed!r}. "
            "Undo the later step first."
        )
    if step["kind"] == "done":
        latest = connection.execute(
            "SELECT operation_id FROM damper_state WHERE damper_id = ? AND stack_name = ? ORDER BY id DESC "
            "LIMIT 1",
            (build["damper_id"], build["stack_name"]),
        ).fetchone()
        if latest["operation_id"] != step["id"]:
            raise RefusedError(
                f"step {step['id']}: the same stack was changed again since. Undo the later step first."
            )
    if after == "reserved":
        _refuse_taken_place(connection, build, step)
    connection.execute("UPDATE build SET state = ? WHERE id = ?", (after, build["id"]))


def _refuse_taken_place(connection: sqlite3.Connection, build: sqlite3.Row, step: sqlite3.Row) -> None:
    other = connection.execute(
        "SELECT job.name FROM build JOIN job ON job.id = job_id WHERE state = 'reserved' "
        "AND (job_id = ? OR (build.damper_id = ? AND stack_name = ?))",
        (build["job_id"], build["damper_id"], build["stack_name"]),
    ).fetchone()
    if other is not None:
        raise RefusedError(
            f"step {step['id']}: job {other['name']!r} has a build of its own reserved since. Release that "
            "first."
        )


def _put_back_stack(connection: sqlite3.Connection, step: sqlite3.Row, counter: int, *, at: str) -> None:
    """Write the stack as it was before; there is one, because only a known stack is ever rebuilt."""
    built = connection.execute(
        "SELECT id, damper_id, stack_name FROM damper_state WHERE operation_id = ?", (step["id"],)
    ).fetchone()
    connection.execute(
        "INSERT INTO damper_state (damper_id, stack_name, at, origin, operation_id, stack) "
        "SELECT damper_id, stack_name, ?, 'put back', ?, stack FROM damper_state "
        "WHERE damper_id = ? AND stack_name = ? AND id < ? ORDER BY id DESC LIMIT 1",
        (at, counter, built["damper_id"], built["stack_name"], built["id"]),
    )
