"""Does a ledger hold together? Every invariant, asked of the file itself, with what mends it."""
# ruff: noqa: S608 - every piece of a query below is a literal of this module.

from __future__ import annotations

import contextlib
import re
import sqlite3
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from optimiser.ledger.closing import changed_since_closed
from optimiser.ledger.errors import RESTORE
from optimiser.ledger.migrations import applied
from optimiser.ledger.schema import MIGRATIONS
from optimiser.ledger.seal import broken_seals
from optimiser.ledger.write_ahead import log_of

_UNDONE: Final = "(SELECT undoes FROM operation WHERE undoes IS NOT NULL)"
_TYPE: Final = "printf('%gx%.3f', outer_um / 1000.0, thickness_um / 1000.0)"
_AS_FOUND: Final = "Open the damper file, list the stack as it is, and build its next job with --as-found."
_OF_THE_DISK: Final = ("SQLITE_BUSY", "SQLITE_LOCKED", "SQLITE_IOERR", "SQLITE_CANTOPEN", "SQLITE_NOMEM")


@dataclass(frozen=True, slots=True)
class LedgerFault:
    """Something that does not hold.

    Parameters
    ----------
    what : the rule that is broken, and where.
    mend : what to do.
    damaged : whether the file itself is harmed, so that nothing may be written to it any more; a sum that a
        step can set right is not that.
    """

    what: str
    mend: str
    damaged: bool = True


@dataclass(frozen=True, slots=True)
class LedgerRule:
    """A question whose every row is a fault; the row's first column says where.

    Parameters
    ----------
    says, query, mend : the rule, the question, and what to do.
    since : the migration that made what it asks about; it is not asked of older ledgers.
    """

    says: str
    query: str
    mend: str
    since: int = 1


RULES: Final = (
    LedgerRule(
        "fewer than none on the shelf, or more reserved than there are",
        f"SELECT {_TYPE} || ': ' || sum(shelf) || ' on the shelf, ' || sum(reserved) || ' reserved' "
        "FROM movement JOIN shim_type ON shim_type.id = shim_id GROUP BY shim_id "
        "HAVING sum(shelf) < sum(reserved) OR sum(reserved) < 0",
        "Count that drawer: 'shimwright stock count TYPE NUMBER'; release the job if it was never built.",
    ),
    LedgerRule(
        "what is reserved differs from what the open builds take",
        f"SELECT {_TYPE} || ': ' || sums.reserved || ' reserved, open builds take ' || lines.taken "
        "FROM shim_type JOIN ( SELECT shim_id, sum(reserved) AS reserved FROM movement GROUP BY shim_id) "
        "AS sums "
        "ON sums.shim_id = shim_type.id JOIN ("
        " SELECT s.id AS shim_id, coalesce(sum(count), 0) AS taken FROM shim_type AS s "
        " LEFT JOIN (SELECT shim_id, count FROM build_line JOIN build ON build.id = build_id "
        "  WHERE way = 'take' AND state = 'reserved') AS open ON open.shim_id = s.id GROUP BY s.id) AS lines "
        "ON lines.shim_id = shim_type.id WHERE sums.reserved <> lines.taken",
        "Release the job that holds the type ('shimwright stock where' names it) and build it again.",
    ),
    LedgerRule(
        "a build's state differs from what its steps say",
        "SELECT 'build ' || b.id || ' of job ' || job.name || ': ' || b.state || ', its steps say ' || "
        "said FROM ( SELECT build.*, CASE "
        f"  WHEN NOT EXISTS (SELECT 1 FROM operation WHERE build_id = build.id AND kind = 'build' "
        f"   AND id NOT IN {_UNDONE}) THEN 'undone' "
        f"  WHEN EXISTS (SELECT 1 FROM operation WHERE build_id = build.id AND kind = 'done' "
        f"   AND id NOT IN {_UNDONE}) THEN 'done' "
        f"  WHEN EXISTS (SELECT 1 FROM operation WHERE build_id = build.id AND kind = 'release' "
        f"   AND id NOT IN {_UNDONE}) THEN 'released' "
        "  ELSE 'reserved' END AS said FROM build) AS b JOIN job ON job.id = b.job_id WHERE b.state <> said",
        RESTORE,
    ),
    LedgerRule(
        "a finished build moved other shims than its lines say",
        f"SELECT 'build ' || build_id || ', ' || {_TYPE} FROM ("
        " SELECT build_id, shim_id, CASE way WHEN 'take' THEN -count ELSE count END AS n FROM build_line "
        "  JOIN build ON build.id = build_id AND state = 'done'"
        " UNION ALL SELECT build_id, shim_id, -shelf FROM movement JOIN operation ON operation.id = "
        "operation_id   WHERE operation.kind = 'done' AND movement.kind <> 'scrapped' AND operation.id "
        f"NOT IN {_UNDONE}) "
        "JOIN shim_type ON shim_type.id = shim_id GROUP BY build_id, shim_id HAVING sum(n) <> 0",
        RESTORE,
    ),
    LedgerRule(
        "a step and its undo do not cancel",
        f"SELECT 'step ' || step || ', ' || {_TYPE} FROM ("
        " SELECT undoes AS step, shim_id, shelf, reserved FROM operation JOIN movement ON operation_id = "
        "undoes   WHERE undoes IS NOT NULL UNION ALL "
        " SELECT undoes, shim_id, shelf, reserved FROM operation JOIN movement ON operation_id = "
        "operation.id   WHERE undoes IS NOT NULL) JOIN shim_type ON shim_type.id = shim_id "
        "GROUP BY step, shim_id HAVING sum(shelf) <> 0 OR sum(reserved) <> 0",
        RESTORE,
    ),
    LedgerRule(
        "a damper's latest stack is not the one that was built last",
        "SELECT 'damper ' || damper.name || ', ' || s.stack_name FROM damper_state AS s "
        "JOIN damper ON damper.id = s.damper_id "
        "JOIN operation ON operation.id = s.operation_id JOIN build ON build.id = operation.build_id "
        "WHERE s.id = (SELECT max(id) FROM damper_state WHERE damper_id = s.damper_id "
        " AND stack_name = s.stack_name) AND s.origin = 'built' "
        f"AND ((build.stack_name = s.stack_name AND build.stack <> s.stack) OR operation.id IN {_UNDONE})",
        _AS_FOUND,
    ),
    LedgerRule(
        "a finished build left no trace in its damper's history",
        "SELECT 'build ' || build_id FROM operation WHERE kind = 'done' "
        f"AND id NOT IN {_UNDONE} AND id NOT IN "
        "(SELECT operation_id FROM damper_state WHERE operation_id IS NOT NULL)",
        _AS_FOUND,
    ),
    LedgerRule(
        "a build points at another job's plan, or at another job's damper",
        "SELECT 'build ' || build.id FROM build JOIN plan ON plan.id = plan_id JOIN job ON job.id = "
        "build.job_id WHERE plan.job_id <> build.job_id OR job.damper_id <> build.damper_id",
        RESTORE,
    ),
    LedgerRule(
        "a damper's latest stack is not one of those that were built last",
        "SELECT 'damper ' || damper.name || ', ' || s.stack_name FROM damper_state AS s "
        "JOIN damper ON damper.id = s.damper_id JOIN operation ON operation.id = s.operation_id "
        "WHERE s.id = (SELECT max(id) FROM damper_state WHERE damper_id = s.damper_id "
        " AND stack_name = s.stack_name) AND s.origin = 'built' AND NOT EXISTS (SELECT 1 FROM built_stack "
        " WHERE build_id = operation.build_id AND stack_name = s.stack_name AND stack = s.stack)",
        _AS_FOUND,
        since=7,
    ),
    LedgerRule(
        "one of the stacks of a finished build left no trace in its damper's history",
        "SELECT 'build ' || operation.build_id || ', ' || stack_name FROM operation "
        "JOIN build_stack ON build_stack.build_id = operation.build_id WHERE kind = 'done' "
        f"AND operation.id NOT IN {_UNDONE} AND NOT EXISTS (SELECT 1 FROM damper_state "
        " WHERE operation_id = operation.id AND stack_name = build_stack.stack_name)",
        _AS_FOUND,
        since=7,
    ),
    LedgerRule(
        "a damper's latest oil, gas or bleed is that of a step that was taken back",
        "SELECT 'damper ' || damper.name || ', ' || p.kind || ' ' || p.name FROM damper_part AS p "
        "JOIN damper ON damper.id = p.damper_id WHERE p.origin = 'built' "
        "AND p.id = (SELECT max(id) FROM damper_part WHERE damper_id = p.damper_id AND kind = p.kind "
        f" AND name = p.name) AND p.operation_id IN {_UNDONE}",
        "Open the damper file, write the part as it is, and build its next job with --as-found.",
        since=7,
    ),
)


def faults(connection: sqlite3.Connection) -> tuple[LedgerFault, ...]:
    """What does not hold in an open ledger of any version: pages, content, guards, books; only reads.

    Raises
    ------
    OSError
        When the disk does not give the whole file, so that nobody can say whether it is damaged.
    """
    found = _found(connection)
    if any(one.damaged for one in found):
        # To SQLite a page that the disk does not give is a damaged one. It is, if so when all can be read.
        read_through(Path(_file_of(connection)))
        found = _found(connection)
    return found


def _file_of(connection: sqlite3.Connection) -> str:
    """The open ledger's file; empty for one in memory."""
    row = connection.execute("SELECT file FROM pragma_database_list WHERE name = 'main'").fetchone()
    return str(row[0])


def read_through(path: Path) -> None:
    """Read a ledger and its log to the end, to see whether the disk gives them."""
    for file in (path, log_of(path)):
        if file.is_file():
            file.read_bytes()


def _found(connection: sqlite3.Connection) -> tuple[LedgerFault, ...]:
    checks: tuple[Callable[[sqlite3.Connection], Iterable[LedgerFault]], ...] = (
        _pages,
        _references,
        _content,
        _counters,
        _schema,
        _books,
    )
    found = tuple(found for check in checks for found in _asked(check, connection))
    return found or tuple(_asked(_bytes, connection))


def damage(connection: sqlite3.Connection) -> LedgerFault | None:
    """The first fault that forbids writing; None in a ledger that may be written."""
    return next((found for found in faults(connection) if found.damaged), None)


def _asked(
    check: Callable[[sqlite3.Connection], Iterable[LedgerFault]], connection: sqlite3.Connection
) -> list[LedgerFault]:
    """What a check finds; that it cannot be asked is a finding, unless the disk or another bench is why."""
    try:
        return list(check(connection))
    except sqlite3.DatabaseError as error:
        if (getattr(error, "sqlite_errorname", "") or "").startswith(_OF_THE_DISK):
            raise
        return [LedgerFault(f"what it holds cannot be read: {error}", RESTORE)]


def _pages(connection: sqlite3.Connection) -> Iterable[LedgerFault]:
    for row in connection.execute("PRAGMA integrity_check(20)"):
        if row[0] != "ok":
            yield LedgerFault(f"the file's pages: {row[0]}", RESTORE)


def _bytes(connection: sqlite3.Connection) -> Iterable[LedgerFault]:
    """What no row uses, against the note that was made when the ledger was closed."""
    file = _file_of(connection)
    if file and changed_since_closed(Path(file), connection):
        yield LedgerFault(
            "the file is not as shimwright closed it, although every row is: bytes that no row uses have "
            "changed, on a failing disk or by another program",
            "Nothing is lost. Save the rows with 'shimwright backup FILE', put that in its place with "
            "'shimwright restore FILE', and have the disk looked at.",
        )


def _references(connection: sqlite3.Connection) -> Iterable[LedgerFault]:
    for row in connection.execute("PRAGMA foreign_key_check"):
        yield LedgerFault(f"table {row[0]}, row {row[1]}: points at a {row[2]} that is not there", RESTORE)


def _content(connection: sqlite3.Connection) -> Iterable[LedgerFault]:
    for table in broken_seals(connection):
        yield LedgerFault(f"table {table}: holds something else than shimwright wrote", RESTORE)


def _counters(connection: sqlite3.Connection) -> Iterable[LedgerFault]:
    """No row of a table that counts its rows is ever deleted, so its counter is its last number."""
    for name, count in connection.execute("SELECT name, seq FROM sqlite_sequence").fetchall():
        last = connection.execute(f"SELECT max(id) FROM {name}").fetchone()[0]
        if count != last:
            yield LedgerFault(f"table {name}: counts {count} rows, its last has number {last}", RESTORE)


def _books(connection: sqlite3.Connection) -> Iterable[LedgerFault]:
    newest = max(applied(connection), default=0)
    for rule in RULES:
        if rule.since > newest:
            continue
        for row in connection.execute(rule.query):
            yield LedgerFault(f"{rule.says}: {row[0]}", rule.mend, damaged=rule.mend == RESTORE)


def _schema(connection: sqlite3.Connection) -> Iterable[LedgerFault]:
    """Tables, indexes and triggers against a ledger made new in memory."""
    expected = _made_new(tuple(applied(connection)))
    got = _objects(connection)
    got.pop("migration", None)
    for name in sorted(expected.keys() | got.keys()):
        if expected.get(name) != got.get(name):
            yield LedgerFault(f"the file's {name!r} is not as shimwright made it", RESTORE)


@cache
def _made_new(migrations: tuple[int, ...]) -> dict[str, str]:
    with contextlib.closing(sqlite3.connect(":memory:")) as fresh:
        for step in MIGRATIONS:
            if step.number in migrations:
                for statement in step.statements:
                    fresh.execute(statement)
        return _objects(fresh)


def _objects(connection: sqlite3.Connection) -> dict[str, str]:
    rows = connection.execute("SELECT name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_%'")
    # A damaged page may hold bytes where a text was.
    texts = ([one if isinstance(one, str) else repr(one or "") for one in row] for row in rows)
    return {name: re.sub(r"\s+", " ", text) for name, text in texts}
