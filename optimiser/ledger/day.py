"""The shop's day: which jobs stand where, what is reserved, what is low, what came back from rides."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import Final

from optimiser.ledger.connection import Ledger
from optimiser.ledger.levels import StockLevel, shelf_levels
from optimiser.ledger.usage import Place, where_used

_JOBS: Final = """
    SELECT job.name, job.title, job.opened_at, damper.name AS damper, machine.name AS machine,
        coalesce(person.name, '') AS rider,
        build.pick, build.state, build.stack_name,
        (SELECT words FROM outcome WHERE job_id = job.id ORDER BY id DESC LIMIT 1) AS words,
        (SELECT at FROM outcome WHERE job_id = job.id ORDER BY id DESC LIMIT 1) AS ridden,
        (SELECT max(operation.at) FROM operation WHERE operation.build_id = build.id
            AND operation.kind = CASE build.state WHEN 'done' THEN 'done' ELSE 'build' END) AS since
    FROM job JOIN damper ON damper.id = job.damper_id JOIN machine ON machine.id = damper.machine_id
    JOIN person ON person.id = machine.person_id
    LEFT JOIN build ON build.id = (
        SELECT max(id) FROM build WHERE job_id = job.id AND state IN ('reserved', 'done'))
    ORDER BY job.id
"""


class JobStage(Enum):
    """Where a job stands, by what happens to it next."""

    TO_PLAN = "to plan"
    TO_BUILD = "to build"
    TO_RIDE = "to ride"
    RIDDEN = "ridden"


@dataclass(frozen=True, slots=True)
class DayJob:
    """A job in the ledger.

    Parameters
    ----------
    name, title : its file's name, what it is called.
    rider, machine, damper : whose, which; no rider when he is erased.
    stage : where it stands.
    since : when that began, UTC.
    stack : the stack of its build; empty without one.
    words : what the ride showed; empty when nobody said.
    """

    name: str
    title: str
    rider: str
    machine: str
    damper: str
    stage: JobStage
    since: str
    stack: str = ""
    words: str = ""

    @property
    def next_step(self) -> str:
        """The command that comes next; empty when none does."""
        return {
            JobStage.TO_PLAN: f"shimwright plan jobs/{self.name}.toml",
            JobStage.TO_BUILD: f"shimwright done {self.name}",
            JobStage.TO_RIDE: f"shimwright outcome {self.name} WORDS",
        }.get(self.stage, "")


@dataclass(frozen=True, slots=True)
class Day:
    """What a shop looks at in the morning.

    Parameters
    ----------
    jobs : those that are not finished, the next to do first.
    reserved : shims that jobs have reserved.
    low : types at or under their low mark.
    ridden : jobs whose ride is written down, the latest first.
    """

    jobs: tuple[DayJob, ...]
    reserved: tuple[Place, ...]
    low: tuple[StockLevel, ...]
    ridden: tuple[DayJob, ...]


def day(ledger: Ledger, *, rides: int = 10) -> Day:
    """The day as the ledger knows it; ``rides`` is how many of the latest are listed."""
    with ledger.reading() as connection:
        found = [_job(dict(row)) for row in connection.execute(_JOBS)]
    order = (JobStage.TO_BUILD, JobStage.TO_RIDE, JobStage.TO_PLAN)
    still_open = sorted(
        (job for job in found if job.stage is not JobStage.RIDDEN),
        key=lambda job: (order.index(job.stage), job.since),
    )
    ridden = [job for job in found if job.stage is JobStage.RIDDEN]
    ridden.sort(key=lambda job: job.since, reverse=True)
    return Day(
        jobs=tuple(still_open),
        reserved=tuple(place for place in where_used(ledger) if place.how == "reserved"),
        low=tuple(level for level in shelf_levels(ledger) if level.low),
        ridden=tuple(ridden[:rides]),
    )


def _job(row: dict[str, str | None]) -> DayJob:
    fitted, ridden = row["since"] or "", row["ridden"] or ""
    if row["state"] == "reserved":
        stage, since = JobStage.TO_BUILD, fitted
    elif ridden and ridden >= fitted:
        stage, since = JobStage.RIDDEN, ridden
    elif row["state"] == "done":
        stage, since = JobStage.TO_RIDE, fitted
    else:
        stage, since = JobStage.TO_PLAN, row["opened_at"] or ""
    return DayJob(
        name=row["name"] or "",
        title=row["title"] or "",
        rider=row["rider"] or "",
        machine=row["machine"] or "",
        damper=row["damper"] or "",
        stage=stage,
        since=since,
        stack=row["stack_name"] or "",
        words=(row["words"] or "") if stage is JobStage.RIDDEN else "",
    )
