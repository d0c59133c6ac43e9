"""The document of ``ride --json``: what the wheel does in each event, before and after, in SI."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from optimiser.documents.common import Document
from optimiser.jobs.ride_job import EventRidden, JobRide
from optimiser.ride.telling import Told, changes


class RideBand(Document):
    """Time and energy in a band of shaft velocity."""

    stroke: Literal["compression", "rebound"]
    band: str
    time_share: float
    energy_j: float


class RideWindow(Document):
    """Where seven tenths of the damper's work of a stroke lie."""

    stroke: Literal["compression", "rebound"]
    from_m_s: float
    to_m_s: float
    from_travel_m: float
    to_travel_m: float
    energy_j: float


class RideTold(Document):
    """One damper in one event."""

    figures: dict[str, float | None]
    """By name, in SI; shares of the load at rest for tyre and end; null where there is none."""
    rest_m: float
    deepest_m: float
    left_m: float
    compression_at_m: float
    rebound_at_m: float
    in_the_air_s: float
    end_speed_m_s: float
    beyond_promise_s: float
    """How long the shaft is faster than the model promises figures for."""
    bands: list[RideBand]
    windows: list[RideWindow]
    energy_imbalance: float
    felt: list[str] = Field(default_factory=list)
    """Figures whose change a rider feels; empty before any change."""


class RideStep(RideTold):
    """The same after a step of effort."""

    changes: int


class RideEventDocument(Document):
    """One event."""

    name: str
    kind: str
    assumes: str
    before: RideTold
    after: list[RideStep]


class RideTaken(Document):
    """A figure that nobody measured."""

    what: str
    off_percent: float


class RideDocument(Document):
    """What the wheel does."""

    format: Literal["shimwright ride 1"] = "shimwright ride 1"
    job: str
    corner: str
    events: list[RideEventDocument]
    taken: list[RideTaken]
    said: list[str]


def ride_document(job: str, ride: JobRide) -> RideDocument:
    """The document of a ride.

    Parameters
    ----------
    job : its title.
    ride : what was ridden.
    """
    return RideDocument(
        job=job,
        corner=ride.corner,
        events=[event_document(ride, event) for event in ride.events],
        taken=[RideTaken(what=one.what, off_percent=round(100 * one.off, 6)) for one in ride.taken],
        said=list(ride.said),
    )


def event_document(ride: JobRide, event: EventRidden) -> RideEventDocument:
    """One event of a ride, before and after each step of effort."""
    after = []
    for step, one in zip(ride.steps, event.after, strict=True):
        moved = changes(event.event.kind, event.before.figures, one.figures, felt=ride.felt)
        felt = [change.name for change in moved if change.felt]
        after.append(RideStep(changes=step.changes, **_told(one) | {"felt": felt}))
    return RideEventDocument(
        name=event.event.name,
        kind=event.event.kind,
        assumes=event.event.assumes,
        before=RideTold(**_told(event.before)),
        after=after,
    )


def _told(one: Told) -> dict[str, Any]:
    figures = one.figures
    return {
        "figures": dict(figures.named()),
        "rest_m": figures.rest,
        "deepest_m": figures.deepest,
        "left_m": figures.left,
        "compression_at_m": figures.compression_at,
        "rebound_at_m": figures.rebound_at,
        "in_the_air_s": figures.in_the_air,
        "end_speed_m_s": figures.end_speed,
        "beyond_promise_s": figures.beyond_promise,
        "bands": [
            RideBand(stroke=use.stroke, band=use.band, time_share=use.time, energy_j=use.energy)
            for use in figures.bands
        ],
        "windows": [
            RideWindow(
                stroke=window.stroke,
                from_m_s=window.low,
                to_m_s=window.high,
                from_travel_m=window.from_travel,
                to_travel_m=window.to_travel,
                energy_j=window.energy,
            )
            for window in one.windows
        ],
        "energy_imbalance": one.imbalance,
    }
