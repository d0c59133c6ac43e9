"""Logs of rides for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from damping_model.units import MILLIMETRE
from optimiser.documents.common import Document
from optimiser.ride_log.beside import RunBeside
from optimiser.ride_log.events import LoggedEvent
from optimiser.ride_log.moment import Moment
from optimiser.ride_log.shares import density
from optimiser.ride_log.wheel_ride import WheelRide

COLUMNS, ROWS = 16, 10
"""Cells of the density, over shaft velocity and wheel travel."""


class ShareDocument(Document):
    """A range of shaft velocity in one stroke."""

    band: str
    """Of the shop's table; "slower" and "faster" for what lies outside all of them."""
    stroke: Literal["compression", "rebound"] | None
    """None for what is too slow to tell."""
    from_m_s: float
    to_m_s: float | None
    """None for no end."""
    time_percent: float
    way_percent: float
    """Of the shaft's whole way, in and out."""


class PeakDocument(Document):
    """The fastest of a stroke."""

    stroke: Literal["compression", "rebound"]
    shaft_m_s: float
    at_s: float
    wheel_travel_mm: float
    usually_below_m_s: float


class EventDocument(Document):
    """Something that happened."""

    kind: Literal["landing", "end-of-travel hit", "square edge", "rollers", "dive"]
    from_s: float
    to_s: float
    travel_from_mm: float
    travel_to_mm: float
    shaft_m_s: float
    """The fastest compression in it."""
    air_s: float
    """Before a landing; 0 for other kinds."""
    count: int


class MomentDocument(Document):
    """The moment that was asked for, as a band: stroke, from_m_s and to_m_s are keys of a complaint."""

    from_s: float
    to_s: float
    stroke: Literal["compression", "rebound"]
    from_m_s: float
    to_m_s: float
    fastest_m_s: float
    travel_from_mm: float
    travel_to_mm: float
    moment_percent: float
    """Of the moment's time, in the band."""
    run_percent: float
    """Of the whole run's time, in the band."""
    way_here_percent: float
    """Of the shaft's way in the band over the run, in this moment."""


class DensityDocument(Document):
    """Share of time over shaft velocity and wheel travel."""

    velocity_edges_m_s: list[float]
    travel_edges_mm: list[float]
    time_percent: list[list[float]]
    """A row for each stretch of travel, a figure for each range of velocity."""


class InTimeDocument(Document):
    """Two runs of one ride, laid over one another in time."""

    delay_s: float
    seconds: float
    correlation: float
    travel_error_mm: float
    velocity_error_m_s: float
    travel_used_mm: float


class ShareBesideDocument(Document):
    """A band of two runs."""

    band: str
    stroke: Literal["compression", "rebound"] | None
    run_percent: float
    other_percent: float


class BesideDocument(Document):
    """Another run, or what was predicted."""

    shares: list[ShareBesideDocument]
    fastest_m_s: dict[str, list[float]]
    """By stroke: of the run, and of the other."""
    deepest_mm: list[float]
    """Of the run, and of the other."""
    in_time: InTimeDocument | None
    """None where they are not one ride."""


class WheelDocument(Document):
    """One wheel."""

    corner: str
    sample_rate_hz: float
    cut_off_hz: float
    seconds: float
    """That count."""
    travel_mm: float
    """All of the wheel's; the deepest that was logged where no machine is named."""
    usual_travel_mm: float
    deepest_travel_mm: float
    shares: list[ShareDocument]
    peaks: list[PeakDocument]
    density: DensityDocument
    events: list[EventDocument]
    moment: MomentDocument | None
    over: BesideDocument | None
    predicted: BesideDocument | None
    notes: list[str]


class RideLogDocument(Document):
    """What ``shimwright log --json`` prints."""

    format: Literal["shimwright log 1"] = "shimwright log 1"
    file: str
    wheels: list[WheelDocument]
    notes: list[str]
    picture: str | None
    recorded: str | None
    """The job whose record the error of the prediction went to."""


def ride_log_document(
    file: str,
    wheels: Sequence[WheelRide],
    *,
    notes: Sequence[str],
    picture: str | None = None,
    recorded: str | None = None,
) -> RideLogDocument:
    """The documented keys of ``shimwright log --json``."""
    return RideLogDocument(
        file=file,
        wheels=[_wheel(one) for one in wheels],
        notes=list(notes),
        picture=picture,
        recorded=recorded,
    )


def _mm(metres: float) -> float:
    return round(metres / MILLIMETRE, 3)


def _percent(share: float) -> float:
    return round(100 * share, 4)


def _wheel(ride: WheelRide) -> WheelDocument:
    motion = ride.motion
    return WheelDocument(
        corner=motion.corner,
        sample_rate_hz=round(motion.rate, 4),
        cut_off_hz=round(motion.cut_off, 3),
        seconds=round(motion.seconds, 4),
        travel_mm=_mm(motion.travel_end),
        usual_travel_mm=_mm(ride.usual),
        deepest_travel_mm=_mm(ride.deepest),
        shares=[
            ShareDocument(
                band=one.band,
                stroke=one.stroke,
                from_m_s=one.low,
                to_m_s=one.high if np.isfinite(one.high) else None,
                time_percent=_percent(one.time),
                way_percent=_percent(one.way),
            )
            for one in ride.shares
        ],
        peaks=[
            PeakDocument(
                stroke=one.stroke,
                shaft_m_s=round(one.velocity, 5),
                at_s=round(one.at, 5),
                wheel_travel_mm=_mm(one.travel),
                usually_below_m_s=round(one.usually_below, 5),
            )
            for one in ride.peaks
        ],
        density=_density(ride),
        events=[_event(one) for one in ride.events],
        moment=None if ride.moment is None else _moment(ride.moment),
        over=None if ride.over is None else _beside(ride.over[1]),
        predicted=None if ride.predicted is None else _beside(ride.predicted[1]),
        notes=list(motion.notes),
    )


def _density(ride: WheelRide) -> DensityDocument:
    found = density(ride.motion, columns=COLUMNS, rows=ROWS)
    return DensityDocument(
        velocity_edges_m_s=[round(float(v), 5) for v in found.velocities],
        travel_edges_mm=[_mm(float(x)) for x in found.travels],
        time_percent=[[_percent(float(cell)) for cell in row] for row in found.share],
    )


def _event(event: LoggedEvent) -> EventDocument:
    return EventDocument(
        kind=event.kind.value,
        from_s=round(event.first, 4),
        to_s=round(event.last, 4),
        travel_from_mm=_mm(event.travel_from),
        travel_to_mm=_mm(event.travel_to),
        shaft_m_s=round(event.shaft_velocity, 5),
        air_s=round(event.air_time, 4),
        count=event.count,
    )


def _moment(moment: Moment) -> MomentDocument:
    return MomentDocument(
        from_s=round(moment.first, 4),
        to_s=round(moment.last, 4),
        stroke=moment.stroke,
        from_m_s=float(f"{moment.low:.3g}"),
        to_m_s=float(f"{moment.high:.3g}"),
        fastest_m_s=round(moment.fastest, 5),
        travel_from_mm=_mm(moment.travel_from),
        travel_to_mm=_mm(moment.travel_to),
        moment_percent=_percent(moment.time_in_moment),
        run_percent=_percent(moment.time_in_run),
        way_here_percent=_percent(moment.way_here),
    )


def _beside(found: RunBeside) -> BesideDocument:
    both = found.in_time
    return BesideDocument(
        shares=[
            ShareBesideDocument(
                band=one.band,
                stroke=one.stroke,
                run_percent=_percent(one.run),
                other_percent=_percent(one.other),
            )
            for one in found.shares
        ],
        fastest_m_s={
            stroke: [round(one, 5), round(other, 5)] for stroke, (one, other) in found.fastest.items()
        },
        deepest_mm=[_mm(one) for one in found.deepest],
        in_time=None
        if both is None
        else InTimeDocument(
            delay_s=round(both.delay, 4),
            seconds=round(both.seconds, 3),
            correlation=round(both.correlation, 5),
            travel_error_mm=_mm(both.travel_error),
            velocity_error_m_s=round(both.velocity_error, 5),
            travel_used_mm=_mm(both.travel_used),
        ),
    )
