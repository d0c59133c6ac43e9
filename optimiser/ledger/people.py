"""A person's data: everything out as one document, or gone, with the shop's sums as they were."""
# ruff: noqa: S608 - every piece of a query below is a literal of this module.

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from typing import Any

from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import RefusedError
from optimiser.ledger.mentions import GONE, Mention, empty_log, mentions_in, redact_in
from optimiser.ledger.read_back import as_written
from optimiser.ledger.shim_types import stack_from_json

_JSON = ("document", "stack", "bands", "wheels", "parts", "value")
"""Columns that hold JSON."""

_OF_PERSON = "SELECT id FROM machine WHERE person_id = :person"
_DAMPERS = f"SELECT id FROM damper WHERE machine_id IN ({_OF_PERSON})"
_JOBS = f"SELECT id FROM job WHERE damper_id IN ({_DAMPERS})"
_BUILDS = f"SELECT id FROM build WHERE job_id IN ({_JOBS})"

_EXPORT = {
    "machines": "SELECT id, name FROM machine WHERE person_id = :person",
    "dampers": f"SELECT id, machine_id, name FROM damper WHERE id IN ({_DAMPERS})",
    "stacks": (
        f"SELECT damper_id, stack_name, at, origin, stack FROM damper_state WHERE damper_id IN ({_DAMPERS})"
    ),
    "jobs": f"SELECT id, name, title, words, damper_id, opened_at FROM job WHERE id IN ({_JOBS})",
    "plans": f"SELECT id, job_id, at, document FROM plan WHERE job_id IN ({_JOBS})",
    "builds": (
        "SELECT id, plan_id, job_id, pick, stack_name, stack, state, sheet, parts "
        f"FROM build WHERE id IN ({_BUILDS})"
    ),
    "build_stacks": (f"SELECT build_id, stack_name, stack FROM build_stack WHERE build_id IN ({_BUILDS})"),
    "parts": (
        f"SELECT damper_id, kind, name, at, origin, value FROM damper_part WHERE damper_id IN ({_DAMPERS})"
    ),
    "build_lines": (
        "SELECT build_id, way, count, outer_um, thickness_um, inner_um FROM build_line "
        f"JOIN shim_type ON shim_type.id = shim_id WHERE build_id IN ({_BUILDS})"
    ),
    "operations": (
        f"SELECT id, at, kind, reason, job_id, build_id, undoes FROM operation WHERE job_id IN ({_JOBS})"
    ),
    "measurements": "SELECT build.job_id, measurement.at, bands FROM measurement "
    f"JOIN build ON build.id = build_id WHERE build.job_id IN ({_JOBS})",
    "ride_predictions": f"SELECT job_id, at, wheels FROM ride_prediction WHERE job_id IN ({_JOBS})",
    "outcomes": f"SELECT job_id, at, words FROM outcome WHERE job_id IN ({_JOBS})",
}

_ERASE = (
    f"UPDATE operation SET reason = :gone WHERE job_id IN ({_JOBS})",
    (
        "UPDATE once SET asked = :gone "
        f"WHERE operation_id IN (SELECT id FROM operation WHERE job_id IN ({_JOBS})) "
        f"OR outcome_id IN (SELECT id FROM outcome WHERE job_id IN ({_JOBS}))"
    ),
    f"UPDATE outcome SET words = :gone WHERE job_id IN ({_JOBS})",
    f"UPDATE plan SET document = '{{}}' WHERE job_id IN ({_JOBS})",
    f"UPDATE build SET sheet = '' WHERE job_id IN ({_JOBS})",
    f"UPDATE job SET name = 'erased job ' || id, title = :gone, words = '' WHERE id IN ({_JOBS})",
    f"UPDATE damper SET name = 'erased damper ' || id WHERE id IN ({_DAMPERS})",
    "UPDATE machine SET name = 'erased machine ' || id WHERE person_id = :person",
    "UPDATE person SET name = NULL, mass_kg = NULL, words = '', erased_at = :at WHERE id = :person",
)


@dataclass(frozen=True, slots=True)
class Erasure:
    """What went, and what is left.

    Parameters
    ----------
    jobs, dampers : how many were made nameless; their shims stay in the books.
    mentions : texts elsewhere that the name was taken out of: reasons, drawers and labels, and if that was
        asked for, the records, plans and sheets of other riders.
    left : where the name still stands as a word.
    """

    jobs: int
    dampers: int
    mentions: int
    left: tuple[Mention, ...]


def export_person(ledger: Ledger, name: str) -> dict[str, Any]:
    """Everything that the ledger holds about a person, as one JSON-ready document."""
    with ledger.reading() as connection:
        person = _person(connection, name)
        document: dict[str, Any] = {
            "format": "shimwright person 1",
            "name": person["name"],
            "mass_kg": person["mass_kg"],
            "words": person["words"],
        }
        for key, query in _EXPORT.items():
            rows = connection.execute(query, {"person": person["id"]}).fetchall()
            document[key] = [_opened(dict(row)) for row in rows]
    return document


def mentioned_elsewhere(ledger: Ledger, name: str) -> tuple[Mention, ...]:
    """Where the name of a person would still stand when he or she is erased: in the records of others."""
    with ledger.trial() as connection:
        _erase(connection, name, at=ledger.clock())
        return mentions_in(connection, name)


def erase_person(ledger: Ledger, name: str, *, everywhere: bool = False) -> Erasure:
    """Make a person nameless in the ledger's file; stock, builds and stacks stay in the books.

    Parameters
    ----------
    ledger : the shop's ledger.
    name : the person's.
    everywhere : take the name out of the records, plans and sheets of others too, see
        :func:`optimiser.ledger.mentions.redact`.

    Raises
    ------
    RefusedError
        When there is no such person, or one of the jobs has shims reserved.
    """
    with ledger.unguarded() as connection:
        connection.execute("PRAGMA secure_delete = ON")
    with ledger.atomic() as connection:
        jobs, dampers, changed = _erase(connection, name, at=ledger.clock())
        if everywhere:
            changed += redact_in(connection, name, notes_only=False)
        left = mentions_in(connection, name)
    empty_log(ledger, stands="The person is erased.")
    return Erasure(jobs, dampers, changed, left)


def _erase(connection: sqlite3.Connection, name: str, *, at: str) -> tuple[int, int, int]:
    """Jobs and dampers that were made nameless, and notes that were cleaned; inside a transaction."""
    person = _person(connection, name)
    values = {"person": person["id"], "gone": GONE, "at": at}
    _refuse_open_build(connection, name, person["id"])
    jobs, dampers = (
        connection.execute(f"SELECT count(*) FROM ({query})", values).fetchone()[0]
        for query in (_JOBS, _DAMPERS)
    )
    for statement in _ERASE:
        connection.execute(statement, values)
    return jobs, dampers, redact_in(connection, name, notes_only=True)


def _person(connection: sqlite3.Connection, name: str) -> sqlite3.Row:
    row: sqlite3.Row | None = connection.execute("SELECT * FROM person WHERE name = ?", (name,)).fetchone()
    if row is None:
        near = connection.execute(
            "SELECT name FROM person WHERE name IS NOT NULL ORDER BY id DESC LIMIT 5"
        ).fetchall()
        known = ", ".join(repr(found["name"]) for found in near) or "none yet"
        raise RefusedError(f"person {name!r}: not in the ledger; the latest are {known}. Check the name.")
    return row


def _refuse_open_build(connection: sqlite3.Connection, name: str, person: int) -> None:
    row = connection.execute(
        f"SELECT name FROM job WHERE id IN (SELECT job_id FROM build WHERE id IN ({_BUILDS}) "
        "AND state = 'reserved')",
        {"person": person},
    ).fetchone()
    if row is not None:
        raise RefusedError(
            f"person {name!r}: job {row['name']!r} has shims reserved. Finish or release it first, then "
            "erase."
        )


def _opened(row: dict[str, Any]) -> dict[str, Any]:
    """The same row with its JSON columns as values."""
    with as_written("a stack or a plan"):
        opened = {key: json.loads(value) if value else value for key, value in row.items() if key in _JSON}
    if row.get("stack"):
        stack_from_json(row["stack"])
    return row | opened
