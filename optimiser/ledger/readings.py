"""Micrometer readings in the books: shims that were read leave and come home to the drawer of their type."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from optimiser.ledger.levels import levels
from optimiser.ledger.movements import Note, note_of
from optimiser.model.stock import ShimKey

Readings = Mapping[ShimKey, tuple[int, ...]]
"""What single shims of listed types measure, one entry a shim. [um]"""

HOME: Final = 0.10
"""A shim that differs from a listed type by at most this share of its thickness is of that type. [-]

The widest limit of EN 10258, 10 % of the thickness.
"""


@dataclass(frozen=True, slots=True)
class ListedShims:
    """Shims of listed types, and what some of them measure.

    Parameters
    ----------
    counts : how many of each listed type.
    readings : of those of them that were read.
    """

    counts: Mapping[ShimKey, int] = field(default_factory=dict)
    readings: Readings = field(default_factory=dict)


def of_listed_types(
    connection: sqlite3.Connection, shims: Mapping[ShimKey, int], readings: Readings | None = None
) -> ListedShims:
    """Shims by the types that the shelf lists; one of another thickness is a reading of the type next to it.

    Parameters
    ----------
    connection : inside a transaction.
    shims : by what they are called in a stack: nominal sizes, or what was read.
    readings : of those with nominal sizes.
    """
    listed = {level.key for level in levels(connection)}
    counts, found = Counter[ShimKey](), {key: [*read] for key, read in (readings or {}).items()}
    for key, count in shims.items():
        home = key if key in listed else _home(key, listed)
        counts[home] += count
        if home != key:
            found.setdefault(home, []).extend([key.thickness] * count)
    return ListedShims(dict(counts), {key: tuple(sorted(read)) for key, read in found.items() if read})


def notes_without(connection: sqlite3.Connection, readings: Readings) -> Iterator[Note]:
    """Notes of types from which shims with these readings are taken."""
    for key, read in readings.items():
        note = note_of(connection, key)
        left = Counter(note.readings) - Counter(read)
        yield replace(note, readings=tuple(sorted(left.elements())))


def notes_with(connection: sqlite3.Connection, readings: Readings) -> Iterator[Note]:
    """Notes of types to which shims with these readings come."""
    for key, read in readings.items():
        note = note_of(connection, key)
        yield replace(note, listed=True, readings=tuple(sorted((*note.readings, *read))))


def readings_json(readings: Readings) -> str:
    """Readings as the ledger keeps them with a build."""
    return json.dumps([[*key, list(read)] for key, read in sorted(readings.items())])


def readings_from_json(text: str) -> Readings:
    """The same read back."""
    return {ShimKey(*sizes): tuple(read) for *sizes, read in json.loads(text)}


def _home(key: ShimKey, listed: set[ShimKey]) -> ShimKey:
    near = [
        one
        for one in listed
        if (one.outer, one.inner) == (key.outer, key.inner)
        and abs(one.thickness - key.thickness) <= HOME * one.thickness
    ]
    return min(near, key=lambda one: abs(one.thickness - key.thickness), default=key)
