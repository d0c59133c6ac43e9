"""From plan to damper: shims are reserved, then fitted or put back, each in one transaction."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final, Literal

from optimiser.ledger.build_rows import Build, PlannedBuild, read_build, write_build
from optimiser.ledger.connection import Ledger
from optimiser.ledger.errors import NotEnoughShimsError, RefusedError
from optimiser.ledger.jobs import current_stack, job_number
from optimiser.ledger.levels import levels, shortage
from optimiser.ledger.movements import Movement, Note, Operation, record
from optimiser.ledger.part_states import begin_parts, refuse_other_parts, write_parts
from optimiser.ledger.part_swaps import NO_SWAPS, with_shelf
from optimiser.ledger.readings import notes_with, notes_without, of_listed_types
from optimiser.model.stock import ShimKey


def reserve(
    ledger: Ledger,
    planned: PlannedBuild,
    *,
    write_sheet: Callable[[], str] = str,
    other_way: Callable[[], str] = str,
) -> Build:
    """Promise the shims of a candidate to its job.

    Parameters
    ----------
    ledger : the shop's ledger.
    planned : the candidate.
    write_sheet : gives the text of the build sheet, stored in the same transaction; when it fails, nothing is
        reserved.
    other_way : gives a sentence on what else could be built, asked for when shims are gone.

    Raises
    ------
    NotEnoughShimsError
        Saying what is gone and who has it.
    RefusedError
        When job or damper has a build that is not finished, or the damper is no longer as the plan saw it.
    """
    with ledger.atomic() as connection:
        _refuse_second(connection, planned)
        listed = {level.key for level in levels(connection)}
        planned = replace(planned, swaps=with_shelf(planned.swaps, listed))
        rings = planned.swaps.rings
        wanted = Counter(planned.taken) + Counter(ring.to for ring in rings if ring.taken)
        leaving = Counter(planned.returned) + Counter(ring.was for ring in rings if ring.returned)
        taken = of_listed_types(connection, wanted, planned.readings)
        _refuse_gone(connection, taken.counts, other_way)
        build_id = write_build(
            connection,
            planned,
            at=ledger.clock(),
            sheet=write_sheet(),
            taken=taken,
            returned=of_listed_types(connection, leaving),
        )
        begin_parts(connection, planned.damper_id, planned.swaps, at=ledger.clock())
        refuse_changed_damper(connection, build_id)
        movements = [Movement(k, "reserved", reserved=n) for k, n in sorted(taken.counts.items())]
        job = _job_name(connection, planned.job_id)
        operation = Operation(
            ledger.clock(), "build", f"candidate {planned.pick} of {job}", planned.job_id, build_id
        )
        record(connection, operation, movements, notes_without(connection, taken.readings))
        return read_build(connection, build_id)


def reserve_day(ledger: Ledger, day: Sequence[Callable[[], PlannedBuild]]) -> tuple[Build, ...]:
    """Promise the shims of several jobs' candidates, all of them or none; each sheet is written later.

    Parameters
    ----------
    ledger : the shop's ledger.
    day : enters a job and gives its candidate, each in the same transaction.

    Raises
    ------
    NotEnoughShimsError
        Saying what is gone and who has it; nothing is reserved then.
    RefusedError
        When a job or damper has a build that is not finished, or a damper is no longer as its plan saw it.
    """
    with ledger.atomic():
        return tuple(reserve(ledger, planned()) for planned in day)


def keep_sheet(ledger: Ledger, build: int, sheet: str) -> None:
    """Keep the sheet of a build that was reserved without one."""
    with ledger.atomic() as connection:
        connection.execute("UPDATE build SET sheet = ? WHERE id = ? AND sheet = ''", (sheet, build))


def refuse_gone(ledger: Ledger, taken: Mapping[ShimKey, int], *, other_way: Callable[[], str] = str) -> None:
    """Refuse to take shims that are gone, as :func:`reserve` would, but reserve nothing."""
    with ledger.reading() as connection:
        _refuse_gone(connection, of_listed_types(connection, taken).counts, other_way)


def done(ledger: Ledger, job: str, *, scrapped: Mapping[ShimKey, int] | None = None) -> Build:
    """Record what a job has reserved as fitted, and put back on the shelf what came out of the damper.

    Parameters
    ----------
    ledger : the shop's ledger.
    job : name of the job.
    scrapped : what came out bent or marked and goes to the bin instead.
    """
    with ledger.atomic() as connection:
        build = _open_build(connection, job)
        refuse_changed_damper(connection, build.number)
        bent = dict(scrapped or {})
        for key, count in bent.items():
            out = build.returned.get(key, 0)
            if not 0 < count <= out:
                raise RefusedError(
                    f"{key}: got {count} to scrap, expected 1 to {out}, which is what came out of the "
                    "damper. Scrap shims off the shelf with 'shimwright stock scrap'."
                )
        movements = [Movement(k, "used", shelf=-n, reserved=-n) for k, n in sorted(build.taken.items())]
        movements += [Movement(k, "returned", shelf=n) for k, n in sorted(build.returned.items())]
        movements += [Movement(k, "scrapped", shelf=-n) for k, n in sorted(bent.items())]
        # Of a type of which some went to the bin nobody wrote down which.
        read = {key: read for key, read in build.readings_returned.items() if key not in bent}
        number = _close(
            connection,
            ledger,
            build,
            "done",
            f"candidate {build.pick} of {job} built",
            movements,
            notes_with(connection, read),
        )
        connection.execute(
            "INSERT INTO damper_state (damper_id, stack_name, at, origin, operation_id, stack) "
            "SELECT damper_id, stack_name, ?, 'built', ?, stack FROM built_stack WHERE build_id = ?",
            (ledger.clock(), number, build.number),
        )
        write_parts(connection, build, operation=number, at=ledger.clock())
        return read_build(connection, build.number)


def release(ledger: Ledger, job: str, *, reason: str = "put back") -> Build:
    """Put back what a job has reserved."""
    with ledger.atomic() as connection:
        build = _open_build(connection, job)
        movements = [Movement(k, "released", reserved=-n) for k, n in sorted(build.taken.items())]
        notes = notes_with(connection, build.readings_taken)
        _close(connection, ledger, build, "release", reason, movements, notes)
        return read_build(connection, build.number)


def open_build(ledger: Ledger, job: str) -> Build | None:
    """The build that a job has reserved and not finished, if any."""
    with ledger.reading() as connection:
        row = connection.execute(
            "SELECT build.id FROM build JOIN job ON job.id = job_id WHERE job.name = ? AND state = "
            "'reserved'",
            (job,),
        ).fetchone()
        return None if row is None else read_build(connection, row["id"])


def last_done(ledger: Ledger, job: str) -> Build | None:
    """The latest build of a job that is done and was not taken back, if any."""
    with ledger.reading() as connection:
        row = connection.execute(
            "SELECT max(build.id) AS id FROM build JOIN job ON job.id = job_id "
            "WHERE job.name = ? AND state = 'done'",
            (job,),
        ).fetchone()
        return None if row["id"] is None else read_build(connection, row["id"])


def _close(
    connection: sqlite3.Connection,
    ledger: Ledger,
    build: Build,
    kind: Literal["done", "release"],
    reason: str,
    movements: list[Movement],
    notes: Iterable[Note],
) -> int:
    state = "done" if kind == "done" else "released"
    connection.execute("UPDATE build SET state = ? WHERE id = ?", (state, build.number))
    job_id = job_number(connection, build.job)
    operation = Operation(ledger.clock(), kind, reason, job_id, build.number)
    return record(connection, operation, movements, notes)


def _open_build(connection: sqlite3.Connection, job: str) -> Build:
    row = connection.execute(
        "SELECT id FROM build WHERE job_id = ? AND state = 'reserved'", (job_number(connection, job),)
    ).fetchone()
    if row is None:
        last = connection.execute(_LAST_OF_JOB, (job_number(connection, job),)).fetchone()
        before = (
            ""
            if last is None
            else f" Its last step was {last['id']}, {last['kind']}, at {last['at'][:16]} UTC."
        )
        raise RefusedError(
            f"job {job!r}: nothing is reserved for it.{before} Reserve a candidate with "
            f"'shimwright build {job} --pick 1'."
        )
    return read_build(connection, row["id"])


_LAST_OF_JOB: Final = "SELECT id, kind, at FROM operation WHERE job_id = ? ORDER BY id DESC LIMIT 1"


def _refuse_gone(
    connection: sqlite3.Connection, taken: Mapping[ShimKey, int], other_way: Callable[[], str]
) -> None:
    lacking = [s for key, count in sorted(taken.items()) if (s := shortage(connection, key, needed=count))]
    if lacking:
        again = "Plan again: the next plan leaves out what is reserved."
        raise NotEnoughShimsError(lacking, way_out=other_way() or again)


def _refuse_second(connection: sqlite3.Connection, planned: PlannedBuild) -> None:
    names = [planned.stack_name, *planned.others]
    row = connection.execute(
        "SELECT job.name, build.id, pick FROM build JOIN job ON job.id = job_id WHERE state = 'reserved' "
        "AND (job_id = :job OR (build.damper_id = :damper AND (:swaps AND parts <> '[]' OR EXISTS (SELECT 1 "
        "FROM built_stack JOIN json_each(:names) ON value = built_stack.stack_name "
        "WHERE build_id = build.id))))",
        {
            "job": planned.job_id,
            "damper": planned.damper_id,
            "names": json.dumps(names),
            "swaps": planned.swaps != NO_SWAPS,
        },
    ).fetchone()
    if row is not None:
        raise RefusedError(
            f"job {row['name']!r} already has candidate {row['pick']} reserved for this damper. "
            f"Finish it with 'shimwright done {row['name']}' or put it back with 'shimwright release "
            f"{row['name']}'."
        )


def refuse_changed_damper(connection: sqlite3.Connection, build_id: int) -> None:
    """Refuse a build whose damper is no longer as its plan saw it; for use inside a transaction."""
    build = read_build(connection, build_id)
    damper = connection.execute("SELECT damper_id FROM build WHERE id = ?", (build_id,)).fetchone()[0]
    there, expected = Counter[ShimKey](), Counter[ShimKey]()
    for name, stack in build.stacks.items():
        now = current_stack(connection, damper, name)
        if now is None:
            raise RefusedError(
                f"stack {name!r}: the ledger does not know how it is built in this damper. "
                "Check the stack's name in the plan and in the damper file."
            )
        there.update(now)
        expected.update(stack)
    expected = Counter(of_listed_types(connection, expected).counts)
    expected.subtract(build.taken)
    expected.update(build.returned)
    for ring in build.swaps.rings:
        # One that the shelf does not list is among no lines: it comes from what the job has at hand.
        expected.subtract([] if ring.taken else [ring.to])
        expected.update([] if ring.returned else [ring.was])
    names = " and ".join(repr(name) for name in build.stacks)
    refuse_other_parts(connection, damper, build.swaps)
    if (
        +expected != Counter(of_listed_types(connection, there).counts)
        or min(expected.values(), default=0) < 0
    ):
        raise RefusedError(
            f"stack {names}: the damper is no longer as this plan saw it. Plan again, then build."
        )


def _job_name(connection: sqlite3.Connection, job_id: int) -> str:
    return str(connection.execute("SELECT name FROM job WHERE id = ?", (job_id,)).fetchone()[0])
