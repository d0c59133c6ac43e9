"""What was promised of a build, from the plan that was kept with it, and the stack that it replaced."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from optimiser.errors import InputError
from optimiser.jobs.before_after import AskedBand
from optimiser.ledger.build_rows import Build
from optimiser.ledger.connection import Ledger
from optimiser.ledger.read_back import as_written
from optimiser.ledger.shim_types import stack_from_json
from optimiser.model.goal import Role
from optimiser.model.stock import ShimKey


@dataclass(frozen=True, slots=True)
class Promise:
    """What a build was to do.

    Parameters
    ----------
    clicks : clicks out of the adjusters that the search could turn.
    bands : that it was judged by.
    """

    clicks: Mapping[str, int]
    bands: tuple[AskedBand, ...]


def promise_of(ledger: Ledger, build: Build) -> Promise:
    """What was promised of a build.

    Raises
    ------
    InputError
        When its plan is gone, as it is once its rider was erased.
    """
    with ledger.reading() as connection:
        row = connection.execute(
            "SELECT document FROM plan JOIN build ON build.plan_id = plan.id WHERE build.id = ?",
            (build.number,),
        ).fetchone()
    with as_written("a plan"):
        candidates = json.loads(row["document"]).get("candidates", ())
        picked = next((one for one in candidates if one["rank"] == build.pick), None)
        if picked is not None:
            return Promise(picked["adjusters"], tuple(_band(one) for one in picked["bands"]))
    raise InputError(
        f"job {build.job!r}: its plan was erased with its rider, so nothing can be laid over it."
    )


def stacks_before(ledger: Ledger, build: Build) -> Mapping[str, tuple[ShimKey, ...]]:
    """The stacks that a finished build replaced, by name, from the piston outwards."""
    with ledger.reading() as connection:
        rows = connection.execute(
            "SELECT earlier.stack_name, earlier.stack FROM damper_state AS built "
            "JOIN operation ON operation.id = built.operation_id "
            "JOIN damper_state AS earlier ON earlier.damper_id = built.damper_id "
            "AND earlier.stack_name = built.stack_name AND earlier.id < built.id "
            "WHERE operation.build_id = ? AND built.origin = 'built' "
            "ORDER BY built.id, earlier.id",
            (build.number,),
        ).fetchall()
    return {row["stack_name"]: stack_from_json(row["stack"]) for row in rows}


def _band(band: Mapping[str, object]) -> AskedBand:
    sign = -1.0 if band["stroke"] == "rebound" else 1.0
    speeds: list[float] = band["velocities_m_s"]  # type: ignore[assignment]
    velocities = tuple(sign * float(speed) for speed in speeds)
    return AskedBand(str(band["name"]), Role(str(band["role"])), velocities)
