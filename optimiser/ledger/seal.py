"""A seal over the ledger's content: what is in the tables is what shimwright wrote there, to the letter.

SQLite finds pages that do not hold together, and not a letter that is another. So the ledger keeps, for every
table, how many rows it has and the sum of their digests. A step adds what it writes and takes away what it
replaces, in its own transaction; the check adds up all rows and compares.
"""
# ruff: noqa: S608 - names of tables and columns are the ledger's own, read from its schema.

from __future__ import annotations

import hashlib
import sqlite3
from collections import defaultdict
from typing import Final

_BITS: Final = 128
_ROW: Final = {
    "INSERT": (("+", "new"),),
    "DELETE": (("-", "old"),),
    "UPDATE": (("-", "old"), ("+", "new")),
}


class Seal:
    """Follows what one connection writes, and brings the seal up to date before it commits.

    Parameters
    ----------
    connection : the open ledger.
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._changes: dict[str, tuple[int, int]] = defaultdict(lambda: (0, 0))
        self._watching = False

    def watch(self) -> None:
        """Follow every table from now on; outside a transaction, and at no cost the second time.

        The triggers belong to this connection and not to the file.
        """
        if self._watching or not is_sealed(self._connection):
            return
        self._connection.create_function("followed", -1, self._follow)
        for table, columns in sealed_tables(self._connection).items():
            for event, rows in _ROW.items():
                calls = ""
                for sign, row in rows:
                    values = ", ".join(f"{row}.{column}" for column in columns)
                    calls += f"SELECT followed('{sign}', '{table}', {values});"
                self._connection.execute(
                    f"CREATE TEMP TRIGGER seal_{table}_{event} AFTER {event} ON main.{table} "
                    f"BEGIN {calls} END"
                )
        self._watching = True

    def forget(self) -> None:
        """Begin a transaction with nothing followed."""
        self._changes.clear()

    def write(self) -> None:
        """Enter what was followed; inside the transaction, as its last change."""
        for table, (rows, digest) in self._changes.items():
            before = self._connection.execute(
                "SELECT rows, digest FROM seal WHERE name = ?", (table,)
            ).fetchone()
            had, sum_before = (0, 0) if before is None else (before[0], int(before[1], 16))
            _enter(self._connection, table, had + rows, (sum_before + digest) % 2**_BITS)
        self._changes.clear()

    def _follow(self, sign: str, table: str, *values: object) -> None:
        rows, digest = self._changes[table]
        step = 1 if sign == "+" else -1
        self._changes[table] = rows + step, digest + step * _digest(table, values)


def seal_all(connection: sqlite3.Connection) -> None:
    """Seal every table as it is now; inside the transaction that made or altered them."""
    if is_sealed(connection):
        for table, (rows, digest) in _sums(connection).items():
            _enter(connection, table, rows, digest)


def broken_seals(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Tables whose content is not what was sealed; none in a ledger from before there were seals."""
    if not is_sealed(connection):
        return ()
    found = {table: (rows, f"{digest:032x}") for table, (rows, digest) in _sums(connection).items()}
    kept = {row[0]: (row[1], row[2]) for row in connection.execute("SELECT name, rows, digest FROM seal")}
    return tuple(sorted(name for name in found.keys() | kept.keys() if found.get(name) != kept.get(name)))


def seal_now(connection: sqlite3.Connection) -> str | None:
    """The seal as one line; None in a ledger from before there were seals."""
    if not is_sealed(connection):
        return None
    rows = connection.execute("SELECT name, rows, digest FROM seal ORDER BY name").fetchall()
    return hashlib.sha256(repr([tuple(row) for row in rows]).encode()).hexdigest()


def is_sealed(connection: sqlite3.Connection) -> bool:
    """Whether the file is from after the migration that brought the seal."""
    return connection.execute("SELECT 1 FROM sqlite_schema WHERE name = 'seal'").fetchone() is not None


def sealed_tables(connection: sqlite3.Connection) -> dict[str, list[str]]:
    """Every table of the ledger but the seal itself, with its columns in order."""
    tables = connection.execute(
        "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' AND name <> 'seal'"
    ).fetchall()
    return {
        table: [row[0] for row in connection.execute("SELECT name FROM pragma_table_info(?)", (table,))]
        for (table,) in tables
    }


def _sums(connection: sqlite3.Connection) -> dict[str, tuple[int, int]]:
    sums = {}
    for table, columns in sealed_tables(connection).items():
        rows = total = 0
        # The table itself: an index that holds the same columns is another copy of them.
        for row in connection.execute(f"SELECT {', '.join(columns)} FROM {table} NOT INDEXED"):
            rows += 1
            total += _digest(table, tuple(row))
        sums[table] = rows, total % 2**_BITS
    return sums


def _enter(connection: sqlite3.Connection, table: str, rows: int, digest: int) -> None:
    connection.execute(
        "INSERT INTO seal (name, rows, digest) VALUES (?, ?, ?) "
        "ON CONFLICT (name) DO UPDATE SET rows = excluded.rows, digest = excluded.digest",
        (table, rows, f"{digest:032x}"),
    )


def _digest(table: str, values: tuple[object, ...]) -> int:
    text = repr((table, values)).encode("utf-8", "surrogatepass")
    return int.from_bytes(hashlib.blake2b(text, digest_size=_BITS // 8).digest(), "big")
