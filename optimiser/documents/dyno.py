"""Dyno runs for other programs."""

from __future__ import annotations

from typing import Literal

from damping_model.units import BAR, MILLIMETRE, celsius
from optimiser.documents.common import Document
from optimiser.dyno.run import DynoPoint, DynoRun, SplitOff
from optimiser.files.dyno.reader import DynoSession


class DynoPointDocument(Document):
    """Force at one velocity; compression is positive."""

    velocity_m_s: float
    force_n: float
    """Of the whole damper."""
    damping_force_n: float
    """Without gas and friction, as far as they are known."""
    spread_n: float
    """Standard deviation from cycle to cycle; 0 where nobody knows it."""
    cycles: int
    branch: Literal["peak", "speeding up", "slowing down"]


class SplitOffDocument(Document):
    """A part of the force that is no damping."""

    force_n: float
    plus_minus_n: float
    how: str


class DynoRunDocument(Document):
    """One run."""

    name: str
    file: str
    first_line: int
    last_line: int
    kind: Literal["peak-velocity", "continuous"]
    clicks_out: dict[str, int]
    temperature_c: float | None
    gas_pressure_bar_gauge: float | None
    stroke_mm: float | None
    sample_rate_hz: float | None
    gas: SplitOffDocument | None
    friction: SplitOffDocument | None
    points: list[DynoPointDocument]
    notes: list[str]


class DynoDocument(Document):
    """What ``shimwright dyno --json`` prints."""

    format: Literal["shimwright dyno 1"] = "shimwright dyno 1"
    runs: list[DynoRunDocument]
    notes: list[str]
    """What was derived of the files' columns, and what looks like a slip beside the damper's file."""


def dyno_document(session: DynoSession, slips: tuple[str, ...] = ()) -> DynoDocument:
    """The documented keys of ``shimwright dyno --json``."""
    return DynoDocument(runs=[_run(run) for run in session.runs], notes=[*session.notes, *slips])


def _run(run: DynoRun) -> DynoRunDocument:
    return DynoRunDocument(
        name=run.name,
        file=run.source,
        first_line=run.lines[0],
        last_line=run.lines[1],
        kind=run.kind.value,
        clicks_out=dict(run.clicks),
        temperature_c=None if run.temperature is None else round(celsius(kelvin=run.temperature), 3),
        gas_pressure_bar_gauge=None if run.gas_pressure is None else round(run.gas_pressure / BAR, 4),
        stroke_mm=None if run.stroke is None else round(run.stroke / MILLIMETRE, 4),
        sample_rate_hz=None if run.sample_rate is None else round(run.sample_rate, 4),
        gas=_split(run.gas),
        friction=_split(run.friction),
        points=[_point(run, point) for point in run.points],
        notes=list(run.notes),
    )


def _split(part: SplitOff | None) -> SplitOffDocument | None:
    if part is None:
        return None
    return SplitOffDocument(
        force_n=round(part.force, 3), plus_minus_n=round(part.plus_minus, 3), how=part.how
    )


def _point(run: DynoRun, point: DynoPoint) -> DynoPointDocument:
    return DynoPointDocument(
        velocity_m_s=round(point.velocity, 6),
        force_n=round(point.force, 3),
        damping_force_n=round(run.damping_force(point), 3),
        spread_n=round(point.spread, 3),
        cycles=point.cycles,
        branch=point.branch.value,
    )
