"""Jobs, riders, machines and dampers: who had what done to which stack."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from optimiser.files.stack_text import lines_from_shims
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import RefusedError
from optimiser.ledger.part_states import found_parts
from optimiser.ledger.shim_types import stack_from_json, stack_to_json
from optimiser.model.damper_description import FiledParts
from optimiser.model.stock import ShimKey


@dataclass(frozen=True, slots=True)
class JobRecord:
    """What the ledger keeps of a job file and the files it names.

    Parameters
    ----------
    name : the job's short name, unique in the shop: its file's name without the ending.
    title : the job in a line.
    words : what the rider said.
    rider : the rider's name.
    rider_mass : with what he or she wears. [kg]
    machine, damper : their names; a damper is known by rider, machine and name.
    stacks : the damper's stacks as it came in, by name, from the piston outwards.
    parts : its oil, gas pressure and bleeds as its file has them.
    """

    name: str
    title: str
    rider: str
    machine: str
    damper: str
    words: str = ""
    rider_mass: float | None = None
    stacks: Mapping[str, tuple[ShimKey, ...]] = field(default_factory=lambda: MappingProxyType({}))
    parts: FiledParts = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True)
class JobNumbers:
    """Where a job and its damper stand in the ledger."""

    job_id: int
    damper_id: int


@dataclass(frozen=True, slots=True)
class StackState:
    """One stack of one damper at one time.

    Parameters
    ----------
    at : since when, UTC.
    origin : 'as found', 'built', or 'put back' by an undo.
    stack_name : which stack of the damper.
    stack : shims from the piston outwards.
    job : name of the job that built it; None as found.
    """

    at: str
    origin: str
    stack_name: str
    stack: tuple[ShimKey, ...]
    job: str | None


def record_job(ledger: Ledger, record: JobRecord, *, as_found: bool = False) -> JobNumbers:
    """Enter a job, its rider, machine and damper, or bring them up to date.

    Parameters
    ----------
    ledger : the shop's ledger.
    record : the job.
    as_found : take the damper's stacks as the damper really came in, although the ledger knows later ones.

    Raises
    ------
    RefusedError
        When the damper file lists a stack that the shop has changed since, or the job has another damper.
    """
    with ledger.atomic() as connection:
        damper_id = _damper(connection, record)
        job_id = _job(connection, record, damper_id, at=ledger.clock())
        for name, stack in record.stacks.items():
            _found(connection, ledger.clock(), damper_id, name, stack, as_found=as_found)
        found_parts(connection, damper_id, record.parts, at=ledger.clock(), as_found=as_found)
    return JobNumbers(job_id, damper_id)


def record_outcome(ledger: Ledger, job: str, words: str) -> int:
    """Write down what the ride showed; the outcome's number."""
    with ledger.atomic() as connection:
        row = connection.execute(
            "INSERT INTO outcome (job_id, at, words) VALUES (?, ?, ?) RETURNING id",
            (job_number(connection, job), ledger.clock(), words),
        ).fetchone()
    return int(row[0])


def stack_history(ledger: Ledger, damper_id: int) -> tuple[StackState, ...]:
    """Every state of a damper's stacks, the oldest first: the last of each name is how it is now."""
    with ledger.reading() as connection:
        rows = connection.execute(
            "SELECT damper_state.at, origin, stack_name, stack, job.name AS job FROM damper_state "
            "LEFT JOIN operation ON operation.id = operation_id LEFT JOIN job ON job.id = operation.job_id "
            "WHERE damper_state.damper_id = ? ORDER BY damper_state.id",
            (damper_id,),
        ).fetchall()
    return tuple(
        StackState(row["at"], row["origin"], row["stack_name"], stack_from_json(row["stack"]), row["job"])
        for row in rows
    )


def machines_with(ledger: Ledger, damper: str) -> tuple[str, ...]:
    """Machines that have a damper of a name, as far as the ledger knows."""
    with ledger.reading() as connection:
        rows = connection.execute(
            "SELECT machine.name FROM damper JOIN machine ON machine.id = machine_id "
            "WHERE damper.name = ? ORDER BY machine.id",
            (damper,),
        ).fetchall()
    return tuple(row["name"] for row in rows)


def job_number(connection: sqlite3.Connection, name: str) -> int:
    """Number of a job by its name, refused with the names that are near."""
    row = connection.execute("SELECT id FROM job WHERE name = ?", (name,)).fetchone()
    if row is not None:
        return int(row[0])
    latest = connection.execute("SELECT name FROM job ORDER BY id DESC LIMIT 5").fetchall()
    known = ", ".join(repr(job["name"]) for job in latest) or "none yet"
    raise RefusedError(f"job {name!r}: not in the ledger; the latest are {known}. Check the name.")


def file_lines(stack: tuple[ShimKey, ...]) -> str:
    """A stack as its damper file holds it: ``shims = ["6 of 20x0.10", "12x0.10"]``."""
    hole = min((key.inner for key in stack), default=0)
    return f"shims = {json.dumps(lines_from_shims(stack, hole=hole))}"


def current_stack(
    connection: sqlite3.Connection, damper_id: int, stack_name: str
) -> tuple[ShimKey, ...] | None:
    """A damper's stack as the ledger last knew it; None when it never did."""
    row = connection.execute(
        "SELECT stack FROM damper_state WHERE damper_id = ? AND stack_name = ? ORDER BY id DESC LIMIT 1",
        (damper_id, stack_name),
    ).fetchone()
    return None if row is None else stack_from_json(row["stack"])


def _damper(connection: sqlite3.Connection, record: JobRecord) -> int:
    person = connection.execute(
        "INSERT INTO person (name, mass_kg, words) VALUES (?, ?, ?) ON CONFLICT (name) DO UPDATE "
        "SET mass_kg = coalesce(excluded.mass_kg, mass_kg), words = excluded.words RETURNING id",
        (record.rider, record.rider_mass, record.words),
    ).fetchone()[0]
    machine = _numbered(connection, "machine", "person_id", person, record.machine)
    return _numbered(connection, "damper", "machine_id", machine, record.damper)


def _numbered(connection: sqlite3.Connection, table: str, owner: str, owner_id: int, name: str) -> int:
    row = connection.execute(
        f"INSERT INTO {table} ({owner}, name) VALUES (?, ?) "  # noqa: S608 (our own two table names)
        "ON CONFLICT DO UPDATE SET name = excluded.name RETURNING id",
        (owner_id, name),
    ).fetchone()
    return int(row[0])


def _job(connection: sqlite3.Connection, record: JobRecord, damper_id: int, *, at: str) -> int:
    known = connection.execute("SELECT id, damper_id FROM job WHERE name = ?", (record.name,)).fetchone()
    if known is None:
        row = connection.execute(
            "INSERT INTO job (name, title, words, damper_id, opened_at) VALUES (?, ?, ?, ?, ?) RETURNING id",
            (record.name, record.title, record.words, damper_id, at),
        ).fetchone()
        return int(row[0])
    if known["damper_id"] != damper_id:
        raise RefusedError(
            f"job {record.name!r}: the ledger has it for another rider, machine or damper; expected "
            f"{record.damper!r} of {record.rider!r} to have a job of its own. Give the job file a new name."
        )
    connection.execute(
        "UPDATE job SET title = ?, words = ? WHERE id = ?", (record.title, record.words, known["id"])
    )
    return int(known["id"])


def _found(
    connection: sqlite3.Connection,
    at: str,
    damper_id: int,
    stack_name: str,
    stack: tuple[ShimKey, ...],
    *,
    as_found: bool,
) -> None:
    now = current_stack(connection, damper_id, stack_name)
    if now == stack:
        return
    given = stack_to_json(stack)
    earlier = connection.execute(
        "SELECT 1 FROM damper_state WHERE damper_id = ? AND stack_name = ? AND stack = ?",
        (damper_id, stack_name, given),
    ).fetchone()
    if earlier and now and not as_found:
        raise RefusedError(
            f"stack {stack_name!r}: the damper file lists it as it was before the shop's last build; "
            "expected "
            f"{file_lines(now)}. Write that into the damper file and plan again, or say --as-found if "
            "somebody "
            "has put it back."
        )
    connection.execute(
        "INSERT INTO damper_state (damper_id, stack_name, at, origin, stack) VALUES (?, ?, ?, 'as found', ?)",
        (damper_id, stack_name, at, given),
    )
