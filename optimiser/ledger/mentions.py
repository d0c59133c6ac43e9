"""Where a name stands in the books as a word, and taking it out of there."""
# ruff: noqa: S608 - every piece of a query below is a literal of this module.

from __future__ import annotations

import html
import json
import re
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import BusyLedgerError
from optimiser.ledger.read_back import as_written

GONE: Final = "(erased)"


@dataclass(frozen=True, slots=True)
class Mention:
    """A place in the books where a name stands.

    Parameters
    ----------
    where : the record, as a tuner knows it.
    what : the part of it.
    stays : whether it is itself the name by which something is known, and so is not redacted.
    """

    where: str
    what: str
    stays: bool


@dataclass(frozen=True, slots=True)
class _Text:
    """A column of free text, how it is written, and how its row is called."""

    table: str
    column: str
    what: str
    where: str
    joined: str = ""
    written: str = "plain"


_OF_JOB: Final = "'job ' || job.name"
_JOIN: Final = "JOIN job ON job.id = t.job_id"
NOTES: Final = (
    _Text("operation", "reason", "reason", "'step ' || t.id"),
    _Text("shelf_note", "drawer", "drawer", "'note ' || t.id"),
    _Text("shelf_note", "label", "label", "'note ' || t.id"),
)
_RECORDS: Final = (
    _Text("job", "title", "title", "'job ' || t.name"),
    _Text("job", "words", "words", "'job ' || t.name"),
    _Text("person", "words", "words", "'rider ' || t.name"),
    _Text("outcome", "words", "outcome of the ride", _OF_JOB, _JOIN),
    _Text("plan", "document", "plan", _OF_JOB, _JOIN, written="json"),
    _Text("build", "sheet", "sheet of a build", _OF_JOB, _JOIN, written="html"),
)
_NAMES: Final = (
    _Text("person", "name", "name", "'rider ' || t.name"),
    _Text("machine", "name", "name", "'machine ' || t.name"),
    _Text("damper", "name", "name", "'damper ' || t.name"),
    _Text("job", "name", "name", "'job ' || t.name"),
)


def mentions(ledger: Ledger, name: str) -> tuple[Mention, ...]:
    """Every place where a name stands as a word of its own; of a rider, his own record among them."""
    with ledger.reading() as connection:
        return mentions_in(connection, name)


def redact(ledger: Ledger, name: str) -> int:
    """Take a name out of every note, record, plan and sheet; how many texts were changed.

    Names by which riders, machines, dampers and jobs are known stay.
    """
    with ledger.unguarded() as connection:
        connection.execute("PRAGMA secure_delete = ON")
    with ledger.atomic() as connection:
        changed = redact_in(connection, name, notes_only=False)
    empty_log(ledger, stands="The name is taken out.")
    return changed


def mentions_in(connection: sqlite3.Connection, name: str) -> tuple[Mention, ...]:
    """The same as :func:`mentions`, inside a transaction."""
    found = []
    for text in (*NOTES, *_RECORDS, *_NAMES):
        spell = _without(name, text.written)
        rows = connection.execute(
            f"SELECT t.{text.column}, {text.where} FROM {text.table} AS t {text.joined} "
            f"WHERE t.{text.column} IS NOT NULL ORDER BY 2"
        )
        for value, where in rows:
            mention = Mention(where or "a nameless record", text.what, text in _NAMES)
            if spell(value) != value and mention not in found:
                found.append(mention)
    return tuple(found)


def redact_in(connection: sqlite3.Connection, name: str, *, notes_only: bool) -> int:
    """The same as :func:`redact`, inside a transaction; of notes on steps and shims only, if so asked."""
    changed = 0
    for text in NOTES if notes_only else (*NOTES, *_RECORDS):
        spell = _without(name, text.written)
        rows = connection.execute(f"SELECT id, {text.column} FROM {text.table}").fetchall()
        new = [(spell(row[1]), row[0]) for row in rows if spell(row[1]) != row[1]]
        connection.executemany(f"UPDATE {text.table} SET {text.column} = ? WHERE id = ?", new)
        changed += len(new)
    spell = _without(name, "plain")
    for identity, number in connection.execute(
        "SELECT id, coalesce(operation_id, outcome_id) FROM once"
    ).fetchall():
        if spell(identity) != identity:
            # Two ids may differ in the name alone, so the step's number goes with it.
            new_id = f"{spell(identity)[:80]} {number}"
            connection.execute("UPDATE once SET id = ? WHERE id = ?", (new_id, identity))
            changed += 1
    return changed


def empty_log(ledger: Ledger, *, stands: str) -> None:
    """Move the write-ahead log, which holds the pages as they were, into the file, over them.

    Parameters
    ----------
    ledger : the shop's ledger.
    stands : what is so already, as a sentence, for the case that it cannot be done.
    """
    left = (
        f"{stands} Old pages may still be in the log beside the file; it is emptied when the last shimwright "
        "closes the ledger."
    )
    with ledger.unguarded(stands=left) as connection:
        busy = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]
    if busy:
        raise BusyLedgerError(
            f"{ledger.path}: another program is reading it. {left} Close the other program."
        )


_OWN_KEY: Final = re.compile("[a-z0-9_]+")


def _without(name: str, written: str) -> Callable[[str], str]:
    """What makes a text one without a name."""
    spellings = {name}
    if written == "html":
        escaped = html.escape(name)
        spellings |= {escaped, escaped.replace("&#x27;", "&#39;").replace("&quot;", "&#34;")}
    either = "|".join(re.escape(spelling) for spelling in sorted(spellings, key=len, reverse=True))
    word = re.compile(rf"(?<!\w)(?:{either})(?!\w)", re.IGNORECASE)

    def plain(text: str) -> str:
        return word.sub(GONE, text)

    def document(text: str) -> str:
        with as_written("a plan"):
            before = json.loads(text)
        after = _in_values(before, plain)
        return text if after == before else json.dumps(after, ensure_ascii=False)

    return document if written == "json" else plain


def _in_values(value: Any, change: Callable[[str], str]) -> Any:
    """Change every text of a JSON value; and those of its keys that a person named."""
    if isinstance(value, str):
        return change(value)
    if isinstance(value, list):
        return [_in_values(one, change) for one in value]
    if isinstance(value, dict):
        return {
            key if _OWN_KEY.fullmatch(key) else change(key): _in_values(one, change)
            for key, one in value.items()
        }
    return value
