"""Where each type is, and what to reorder: read from dampers, builds and movements."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Literal

from optimiser.ledger.connection import Ledger
from optimiser.ledger.levels import StockLevel, levels
from optimiser.ledger.shim_types import key_of, stack_from_json
from optimiser.model.stock import ShimKey

_IN_DAMPERS = """
    SELECT stack, stack_name, damper.name AS damper, machine.name AS machine
    FROM damper_state AS state
    JOIN damper ON damper.id = damper_id JOIN machine ON machine.id = machine_id
    WHERE state.id = (
        SELECT max(id) FROM damper_state
        WHERE damper_id = state.damper_id AND stack_name = state.stack_name
    )
    ORDER BY machine.name, damper.name, stack_name
"""

_PROMISED = """
    SELECT outer_um, thickness_um, inner_um, count, job.name AS job
    FROM build_line JOIN build ON build.id = build_id AND state = 'reserved'
    JOIN job ON job.id = build.job_id JOIN shim_type ON shim_type.id = shim_id
    WHERE way = 'take' ORDER BY job.name
"""

_USED_SINCE = """
    SELECT outer_um, thickness_um, inner_um, -sum(shelf) AS used, count(DISTINCT job_id) AS jobs
    FROM operation JOIN movement ON operation_id = operation.id AND movement.kind = 'used'
    JOIN shim_type ON shim_type.id = shim_id
    WHERE operation.at >= ? AND operation.kind = 'done'
    AND operation.id NOT IN (SELECT undoes FROM operation WHERE undoes IS NOT NULL)
    GROUP BY shim_id
"""


@dataclass(frozen=True, slots=True)
class Place:
    """Somewhere that shims of a type are.

    Parameters
    ----------
    key : the type.
    count : how many.
    how : fitted in a damper, or reserved for a job.
    where : the damper and its machine, or the job.
    """

    key: ShimKey
    count: int
    how: Literal["fitted", "reserved"]
    where: str


@dataclass(frozen=True, slots=True)
class Reorder:
    """A type to buy.

    Parameters
    ----------
    level : what there is.
    used : how many the jobs of the period used.
    jobs : how many jobs those were.
    buy : how many to buy: what the period used and, if the shop set a low mark, one more than that mark.
    """

    level: StockLevel
    used: int
    jobs: int
    buy: int


def where_used(ledger: Ledger, key: ShimKey | None = None) -> tuple[Place, ...]:
    """Dampers and jobs that have shims of one type, or of every type, in order of type."""
    with ledger.reading() as connection:
        places = [
            Place(key_of(row), row["count"], "reserved", row["job"]) for row in connection.execute(_PROMISED)
        ]
        for row in connection.execute(_IN_DAMPERS):
            where = f"{row['machine']}, {row['damper']}, {row['stack_name']}"
            places += [
                Place(found, count, "fitted", where)
                for found, count in Counter(stack_from_json(row["stack"])).items()
            ]
    chosen = [place for place in places if key is None or place.key == key]
    return tuple(sorted(chosen, key=lambda place: (place.key, place.how, place.where)))


def reorder(ledger: Ledger, *, since: str) -> tuple[Reorder, ...]:
    """What to buy so that the shelf lasts as long again as the jobs since a time took.

    Common practice, no source: recent jobs are the best guess at the next ones.

    Parameters
    ----------
    ledger : the shop's ledger.
    since : UTC time as the ledger writes it.
    """
    with ledger.reading() as connection:
        used = {key_of(row): (row["used"], row["jobs"]) for row in connection.execute(_USED_SINCE, (since,))}
        found = levels(connection)
    known = {level.key for level in found}
    gone = [StockLevel(key, 0, 0, "", "", None) for key in used if key not in known]
    wanted = [_wanted(level, *used.get(level.key, (0, 0))) for level in (*found, *gone)]
    return tuple(sorted((r for r in wanted if r.buy > 0), key=lambda r: (-r.used, r.level.key)))


def _wanted(level: StockLevel, used: int, jobs: int) -> Reorder:
    enough = max(used, 0 if level.low_at is None else level.low_at + 1)
    return Reorder(level, used, jobs, max(0, enough - level.free))
