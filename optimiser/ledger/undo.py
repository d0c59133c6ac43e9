"""Taking a step back by a counter-movement, so that the past stays readable."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from dataclasses import dataclass
from typing import Final

from optimiser.ledger.builds import refuse_changed_damper
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import NotEnoughShimsError, RefusedError
from optimiser.ledger.levels import shortage
from optimiser.ledger.movements import Movement, Operation, record
from optimiser.ledger.part_states import put_back_parts
from optimiser.ledger.shim_types import key_of, type_id
from optimiser.model.stock import ShimKey

_AFTER_UNDO = {"build": "undone", "done": "reserved", "release": "reserved"}
"""The state that a build goes to when a step of its is undone."""


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
    """Take back one step, the last that still stands unless a number is given; which it was."""
    return taken_back_by(ledger, undo_step(ledger, number))


def taken_back_by(ledger: Ledger, number: int) -> PastOperation:
    """The step that an undo took back.

    Parameters
    ----------
    ledger : the shop's ledger.
    number : of the undo.
    """
    with ledger.reading() as connection:
        undone = connection.execute("SELECT undoes FROM operation WHERE id = ?", (number,)).fetchone()
        return _past(connection.execute(f"{_PAST} WHERE o.id = ?", (undone["undoes"],)).fetchone())


def same_before(ledger: Ledger, number: int) -> PastOperation | None:
    """The step just before another, when it did the same for the same reason a moment earlier; else None."""
    with ledger.reading() as connection:
        row = connection.execute(_SAME_BEFORE, {"step": number, "moment": _MOMENT}).fetchone()
        return (
            None
            if row is None
            else _past(connection.execute(f"{_PAST} WHERE o.id = ?", (row[0],)).fetchone())
        )


def undo_step(ledger: Ledger, number: int | None = None) -> int:
    """The same as :func:`undo`.

    Returns
    -------
    int
        The number of the undo, which is a step itself.

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
        _refuse_impossible_past(connection, counters, step["id"])
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
        return counter


_MOMENT: Final = 600
"""How long after a step the same one is taken for the same command given again. [s]"""

_STANDS = "kind <> 'undo' AND id NOT IN (SELECT undoes FROM operation WHERE undoes IS NOT NULL)"

_COUNTED_SINCE = f"""
    SELECT 1 FROM movement WHERE shim_id = :type AND kind = 'counted' AND operation_id > :step
    AND operation_id IN (SELECT id FROM operation WHERE id > :step AND {_STANDS})
    AND EXISTS (SELECT 1 FROM movement WHERE operation_id = :step AND shim_id = :type AND shelf <> 0)
"""  # noqa: S608 (a literal of this module)

_LEAST_FREE_WITHOUT = f"""
    SELECT min(free) FROM (
        SELECT sum(sum(shelf - reserved)) OVER (ORDER BY operation_id) AS free FROM movement
        WHERE shim_id = :type AND operation_id <> :step
        AND operation_id IN (SELECT id FROM operation WHERE {_STANDS})
        GROUP BY operation_id
    )
"""  # noqa: S608

_RESTS_ON = f"""
    SELECT operation.id, operation.kind, job.name AS job
    FROM (SELECT id, kind, build_id FROM operation WHERE id > :step AND {_STANDS}) AS operation
    JOIN build AS later ON later.id = operation.build_id JOIN job ON job.id = later.job_id
    JOIN build AS mine ON mine.id = :build
    WHERE later.job_id = mine.job_id
    OR (later.damper_id = mine.damper_id AND later.parts <> '[]' AND mine.parts <> '[]')
    OR (later.damper_id = mine.damper_id AND EXISTS (
        SELECT 1 FROM built_stack AS one JOIN built_stack AS other ON other.stack_name = one.stack_name
        WHERE one.build_id = later.id AND other.build_id = mine.id
    ))
    ORDER BY operation.id DESC LIMIT 1
"""  # noqa: S608

_MOVED = "SELECT group_concat(shim_id || ' ' || kind || ' ' || shelf || ' ' || reserved) FROM movement"

_SAME_BEFORE = f"""
    SELECT earlier.id FROM operation AS earlier JOIN operation AS mine ON mine.id = :step
    WHERE earlier.id = (SELECT max(id) FROM operation WHERE id < :step)
    AND earlier.kind = mine.kind AND earlier.reason = mine.reason
    AND strftime('%s', mine.at) - strftime('%s', earlier.at) BETWEEN 0 AND :moment
    AND ({_MOVED} WHERE operation_id = mine.id) IS ({_MOVED} WHERE operation_id = earlier.id)
"""  # noqa: S608

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
            f"step {number}: not there, taken back already, or itself an undo; expected the number of "
            "a step that still stands. 'shimwright undo --list' shows them; what an undo took back is "
            "simply done again."
        )
    return row


def _refuse_impossible_past(connection: sqlite3.Connection, counters: list[Movement], step: int) -> None:
    """Refuse when the steps that still stand could not have happened without this one.

    This is what makes undo of everything always possible: the steps that stand are always a past that holds.
    """
    change: dict[ShimKey, int] = defaultdict(int)
    for movement in counters:
        change[movement.key] += movement.shelf - movement.reserved
    lacking = [
        s for key, n in sorted(change.items()) if n < 0 and (s := shortage(connection, key, needed=-n))
    ]
    if lacking:
        raise NotEnoughShimsError(
            lacking,
            way_out=f"Step {step} cannot be taken back while they are gone; undo what took them first.",
        )
    for key in sorted({movement.key for movement in counters}):
        values = {"type": type_id(connection, key), "step": step}
        if connection.execute(_COUNTED_SINCE, values).fetchone():
            raise RefusedError(
                f"step {step}: {key} was counted since, and a count holds whatever went before. "
                "Set the number right with 'shimwright stock count', or undo the later count first."
            )
        least = connection.execute(_LEAST_FREE_WITHOUT, values).fetchone()[0]
        if least is not None and least < 0:
            raise RefusedError(
                f"step {step}: later steps used the {key} that it brought. Undo those first, the "
                "latest first, or set the number right with 'shimwright stock count'."
            )


def _put_back_build(connection: sqlite3.Connection, step: sqlite3.Row) -> None:
    later = connection.execute(_RESTS_ON, {"step": step["id"], "build": step["build_id"]}).fetchone()
    if later is not None:
        raise RefusedError(
            f"step {step['id']}: step {later['id']} ({later['kind']} of job {later['job']!r}) rests on it. "
            "Undo the later step first."
        )
    if step["kind"] == "done" and _found_otherwise(connection, step["id"]):
        raise RefusedError(
            f"step {step['id']}: the damper has come in with another stack since. Plan a new job instead."
        )
    if step["kind"] == "release":
        refuse_changed_damper(connection, step["build_id"])
    connection.execute(
        "UPDATE build SET state = ? WHERE id = ?", (_AFTER_UNDO[step["kind"]], step["build_id"])
    )


def _found_otherwise(connection: sqlite3.Connection, step: int) -> bool:
    row = connection.execute(
        "SELECT 1 FROM damper_state AS mine JOIN damper_state AS later "
        "ON later.damper_id = mine.damper_id AND later.stack_name = mine.stack_name AND later.id > mine.id "
        "WHERE mine.operation_id = ? AND later.origin = 'as found' "
        "UNION ALL SELECT 1 FROM damper_part AS mine JOIN damper_part AS later "
        "ON later.damper_id = mine.damper_id AND later.kind = mine.kind AND later.name = mine.name "
        "AND later.id > mine.id WHERE mine.operation_id = ? AND later.origin = 'as found'",
        (step, step),
    ).fetchone()
    return row is not None


def _put_back_stack(connection: sqlite3.Connection, step: sqlite3.Row, counter: int, *, at: str) -> None:
    """Write stacks and parts as they were before; there are some, since only what is known is rebuilt."""
    built = connection.execute(
        "SELECT id, damper_id, stack_name FROM damper_state WHERE operation_id = ?", (step["id"],)
    ).fetchall()
    connection.executemany(
        "INSERT INTO damper_state (damper_id, stack_name, at, origin, operation_id, stack) "
        "SELECT damper_id, stack_name, ?, 'put back', ?, stack FROM damper_state "
        "WHERE damper_id = ? AND stack_name = ? AND id < ? ORDER BY id DESC LIMIT 1",
        [(at, counter, one["damper_id"], one["stack_name"], one["id"]) for one in built],
    )
    put_back_parts(connection, step["id"], counter, at=at)
