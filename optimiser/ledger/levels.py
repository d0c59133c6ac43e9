"""How many of each type there are: the sums of the movements, read at one moment."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass

from optimiser.files.shelf import ShelfRow
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import Shortage
from optimiser.ledger.movements import readings_kept
from optimiser.ledger.shim_types import key_of
from optimiser.model.stock import ShimKey, Stock

_SUMS = """
    SELECT outer_um, thickness_um, inner_um, sums.shelf, sums.reserved,
           note.listed, note.drawer, note.label, note.low_at, note.readings
    FROM shim_type
    LEFT JOIN (SELECT shim_id, sum(shelf) AS shelf, sum(reserved) AS reserved FROM movement GROUP BY shim_id)
        AS sums ON sums.shim_id = shim_type.id
    LEFT JOIN shelf_note AS note
        ON note.id = (
            SELECT max(id) FROM shelf_note WHERE shim_id = shim_type.id
            AND operation_id NOT IN (SELECT undoes FROM operation WHERE undoes IS NOT NULL)
        )
    WHERE sums.shelf <> 0 OR sums.reserved <> 0 OR note.listed = 1
    ORDER BY inner_um, outer_um DESC, thickness_um
"""

_ONE = """
    SELECT coalesce(sum(shelf), 0), coalesce(sum(reserved), 0) FROM movement
    JOIN shim_type ON shim_type.id = shim_id WHERE outer_um = ? AND thickness_um = ? AND inner_um = ?
"""

_HOLDERS = """
    SELECT job.name FROM build_line
    JOIN build ON build.id = build_id AND build.state = 'reserved'
    JOIN job ON job.id = build.job_id
    JOIN shim_type ON shim_type.id = shim_id
    WHERE way = 'take' AND outer_um = ? AND thickness_um = ? AND inner_um = ?
    ORDER BY build.id DESC
"""


@dataclass(frozen=True, slots=True)
class StockLevel:
    """One type on the shelf.

    Parameters
    ----------
    key : the type.
    shelf : how many lie in the shop.
    reserved : how many of them are reserved for jobs.
    drawer, label : the shop's own words.
    low_at : the count at which it is low; None for never.
    noted : what free shims of it measured when they were last read, one entry a shim, rising. [um]
    """

    key: ShimKey
    shelf: int
    reserved: int
    drawer: str
    label: str
    low_at: int | None
    noted: tuple[int, ...] = ()

    @property
    def readings(self) -> tuple[int, ...]:
        """What free shims measure: none when fewer are free than were read, since nobody knows which went."""
        return self.noted if len(self.noted) <= self.free else ()

    @property
    def free(self) -> int:
        """How many may be reserved."""
        return self.shelf - self.reserved

    @property
    def low(self) -> bool:
        """Whether the shop wants to be told."""
        return self.low_at is not None and self.free <= self.low_at

    @property
    def row(self) -> ShelfRow:
        """The line of a shelf file; what is reserved still lies in the shop and is counted."""
        return ShelfRow(self.key, self.shelf, self.drawer, self.label, self.low_at, self.readings)


def shelf_levels(ledger: Ledger) -> tuple[StockLevel, ...]:
    """Every type that the shop lists, by hole, then from the widest, then from the thinnest."""
    with ledger.reading() as connection:
        return levels(connection)


def free_stock(ledger: Ledger) -> Stock:
    """What a plan may use: shims in the shop that are reserved for nobody."""
    free = [level for level in shelf_levels(ledger) if level.free > 0]
    return Stock(
        {level.key: level.free for level in free},
        readings={level.key: level.readings for level in free if level.readings},
    )


def levels(connection: sqlite3.Connection) -> tuple[StockLevel, ...]:
    """The same as :func:`shelf_levels`, inside a transaction."""
    return tuple(
        StockLevel(
            key_of(row),
            row["shelf"] or 0,
            row["reserved"] or 0,
            row["drawer"] or "",
            row["label"] or "",
            row["low_at"],
            readings_kept(row["readings"]),
        )
        for row in connection.execute(_SUMS)
    )


def count_of(connection: sqlite3.Connection, key: ShimKey) -> tuple[int, int]:
    """How many of one type lie in the shop, and how many of those are reserved."""
    shelf, reserved = connection.execute(_ONE, (key.outer, key.thickness, key.inner)).fetchone()
    return int(shelf), int(reserved)


def shortage(connection: sqlite3.Connection, key: ShimKey, *, needed: int) -> Shortage | None:
    """What lacks for taking some of a type, and who has it; None when there is enough."""
    shelf, reserved = count_of(connection, key)
    if shelf - reserved >= needed:
        return None
    names = connection.execute(_HOLDERS, (key.outer, key.thickness, key.inner)).fetchall()
    return Shortage(key, needed, shelf - reserved, tuple(row["name"] for row in names))
