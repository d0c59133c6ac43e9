"""A build as the ledger holds it: its rows in the tables, written and read."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from optimiser.ledger.part_swaps import NO_SWAPS, Swaps, swaps_from_json, swaps_json
from optimiser.ledger.readings import ListedShims, Readings, readings_from_json, readings_json
from optimiser.ledger.shim_types import key_of, stack_from_json, stack_to_json, type_id
from optimiser.model.stock import ShimKey

Stacks = Mapping[str, tuple[ShimKey, ...]]
"""Stacks of a damper by name, from the piston outwards."""


@dataclass(frozen=True, slots=True)
class PlannedBuild:
    """One candidate of a plan, ready to be reserved.

    Parameters
    ----------
    job_id, damper_id : as :func:`optimiser.ledger.jobs.record_job` gave them.
    plan_json : the whole plan, kept as it was.
    pick : which candidate, from 1.
    taken : what it needs from the shelf.
    returned : what comes out of the damper.
    stack_name : the stack that changes.
    stack : the stack to build, from the piston outwards.
    readings : what the shims measure that are to be taken, where single ones are meant. [um]
    others : other stacks of the damper that it changes too, as they are to be; ``taken`` and ``returned`` are
        those of all of them together.
    swaps : what becomes another part besides shims.
    """

    job_id: int
    damper_id: int
    plan_json: str
    pick: int
    taken: Mapping[ShimKey, int]
    returned: Mapping[ShimKey, int]
    stack_name: str
    stack: tuple[ShimKey, ...]
    readings: Readings = field(default_factory=dict)
    others: Stacks = field(default_factory=dict)
    swaps: Swaps = NO_SWAPS


@dataclass(frozen=True, slots=True)
class Build:
    """A build in the ledger.

    Parameters
    ----------
    number : its number.
    job : name of the job.
    pick : which candidate of its plan.
    state : where it stands.
    taken, returned : what comes from the shelf, what comes out of the damper, by the types of the shelf.
    stack_name, stack : the stack that it changes, and how that is built, from the piston outwards.
    sheet : text of its build sheet, so that it can be printed again; empty when there is none.
    readings_taken, readings_returned : what those measure that were measured. [um]
    others : other stacks of the damper that it changes too.
    swaps : what becomes another part besides shims.
    """

    number: int
    job: str
    pick: int
    state: Literal["reserved", "done", "released", "undone"]
    taken: Mapping[ShimKey, int]
    returned: Mapping[ShimKey, int]
    stack_name: str
    stack: tuple[ShimKey, ...]
    sheet: str
    readings_taken: Readings = field(default_factory=dict)
    readings_returned: Readings = field(default_factory=dict)
    others: Stacks = field(default_factory=dict)
    swaps: Swaps = NO_SWAPS

    @property
    def stacks(self) -> Stacks:
        """Every stack that it changes, as it is built."""
        return {self.stack_name: self.stack, **self.others}


def write_build(
    connection: sqlite3.Connection,
    planned: PlannedBuild,
    *,
    at: str,
    sheet: str,
    taken: ListedShims,
    returned: ListedShims,
) -> int:
    """Enter a build as reserved, with the plan that it is from; its number. Inside a transaction."""
    plan = connection.execute(
        "INSERT INTO plan (job_id, at, document) VALUES (?, ?, ?) RETURNING id",
        (planned.job_id, at, planned.plan_json),
    ).fetchone()[0]
    build = connection.execute(
        "INSERT INTO build (plan_id, job_id, damper_id, pick, stack_name, stack, state, sheet, "
        "readings_taken, readings_returned, parts) VALUES (?, ?, ?, ?, ?, ?, 'reserved', ?, ?, ?, ?) "
        "RETURNING id",
        (
            plan,
            planned.job_id,
            planned.damper_id,
            planned.pick,
            planned.stack_name,
            stack_to_json(planned.stack),
            sheet,
            readings_json(taken.readings),
            readings_json(returned.readings),
            swaps_json(planned.swaps),
        ),
    ).fetchone()[0]
    connection.executemany(
        "INSERT INTO build_stack (build_id, stack_name, stack) VALUES (?, ?, ?)",
        [(build, name, stack_to_json(stack)) for name, stack in planned.others.items()],
    )
    lines = [("take", taken.counts), ("give", returned.counts)]
    connection.executemany(
        "INSERT INTO build_line (build_id, shim_id, way, count) VALUES (?, ?, ?, ?)",
        [(build, type_id(connection, k), way, n) for way, shims in lines for k, n in shims.items()],
    )
    return int(build)


def read_build(connection: sqlite3.Connection, number: int) -> Build:
    """The build of a number. Inside a transaction."""
    row = connection.execute(
        "SELECT job.name, pick, state, stack_name, stack, sheet, readings_taken, readings_returned, parts "
        "FROM build JOIN job ON job.id = job_id WHERE build.id = ?",
        (number,),
    ).fetchone()
    ways: dict[str, dict[ShimKey, int]] = {"take": {}, "give": {}}
    for line in connection.execute(
        "SELECT way, count, outer_um, thickness_um, inner_um FROM build_line "
        "JOIN shim_type ON shim_type.id = shim_id WHERE build_id = ?",
        (number,),
    ):
        ways[line["way"]][key_of(line)] = line["count"]
    others = connection.execute("SELECT stack_name, stack FROM build_stack WHERE build_id = ?", (number,))
    return Build(
        number=number,
        job=row["name"],
        pick=row["pick"],
        state=row["state"],
        taken=ways["take"],
        returned=ways["give"],
        stack_name=row["stack_name"],
        stack=stack_from_json(row["stack"]),
        sheet=row["sheet"],
        readings_taken=readings_from_json(row["readings_taken"]),
        readings_returned=readings_from_json(row["readings_returned"]),
        others={other["stack_name"]: stack_from_json(other["stack"]) for other in others},
        swaps=swaps_from_json(row["parts"]),
    )
