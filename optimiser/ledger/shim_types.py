"""Shim types as the ledger numbers them."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable

from optimiser.ledger.read_back import as_written
from optimiser.model.stock import ShimKey


def type_id(connection: sqlite3.Connection, key: ShimKey) -> int:
    """Number of a type, given to it now if it is new; for use inside a transaction."""
    sizes = (key.outer, key.thickness, key.inner)
    known = connection.execute(
        "SELECT id FROM shim_type WHERE outer_um = ? AND thickness_um = ? AND inner_um = ?", sizes
    ).fetchone()
    if known is not None:
        return int(known[0])
    return int(
        connection.execute(
            "INSERT INTO shim_type (outer_um, thickness_um, inner_um) VALUES (?, ?, ?) RETURNING id", sizes
        ).fetchone()[0]
    )


def key_of(row: sqlite3.Row) -> ShimKey:
    """The type in a row that has its three sizes. [um]"""
    return ShimKey(row["outer_um"], row["thickness_um"], row["inner_um"])


def stack_to_json(stack: Iterable[ShimKey]) -> str:
    """A stack as the ledger stores it: sizes from the piston outwards. [um]"""
    return json.dumps([[key.outer, key.thickness, key.inner] for key in stack])


def stack_from_json(text: str) -> tuple[ShimKey, ...]:
    """A stack that :func:`stack_to_json` wrote."""
    with as_written("a stack"):
        return tuple(ShimKey(*map(int, sizes)) for sizes in json.loads(text))
