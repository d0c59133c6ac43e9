"""The [complaint] table of a job: words, a symptom, one instant, and numbers that win over both."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field, model_validator

from damping_model.units import MILLIMETRE
from optimiser.files.base import FileModel
from optimiser.intake.complaint import Complaint
from optimiser.intake.narrow import USUAL_RISE_TIME, EventAsked, EventKind

Velocity = Annotated[float, Field(gt=0, le=20)]
Percent = Annotated[float, Field(gt=0, le=100)]
Share = Annotated[float, Field(ge=0, le=100)]


class EventSection(FileModel):
    """One instant of a ride; give the numbers that its kind needs."""

    kind: EventKind
    height_mm: Annotated[float, Field(gt=0, le=20_000)] | None = None
    """Of a square edge or of a fall."""
    speed_m_s: Annotated[float, Field(gt=0, le=100)] | None = None
    slope_deg: Annotated[float, Field(ge=0, lt=90)] = 0.0
    """Of the ground that is landed on."""
    deceleration_m_s2: Annotated[float, Field(gt=0, le=20)] | None = None
    rise_time_s: Annotated[float, Field(gt=0, le=5)] = USUAL_RISE_TIME
    stroke_mm: Annotated[float, Field(gt=0, le=500)] | None = None
    """Of a bob, from highest to lowest."""
    cadence_rpm: Annotated[float, Field(gt=0, le=200)] | None = None
    from_wheel_m_s: Velocity | None = None
    to_wheel_m_s: Velocity | None = None
    """Wheel velocities, for the kind 'wheel velocity'."""
    from_travel_percent: Share | None = None
    to_travel_percent: Share | None = None
    """Stretch of the travel; from sag on when left out."""

    @model_validator(mode="after")
    def _in_order(self) -> EventSection:
        for low, high in (("from_wheel_m_s", "to_wheel_m_s"), ("from_travel_percent", "to_travel_percent")):
            one, other = getattr(self, low), getattr(self, high)
            if one is not None and other is not None and one >= other:
                raise ValueError(f"{low} lower than {high}, got {one:g} and {other:g}; swap them")
        return self

    def asked(self) -> EventAsked:
        """The event in SI."""
        return EventAsked(
            kind=self.kind,
            height=_metres(self.height_mm),
            speed=self.speed_m_s,
            slope=math.radians(self.slope_deg),
            deceleration=self.deceleration_m_s2,
            rise_time=self.rise_time_s,
            stroke=_metres(self.stroke_mm),
            cadence=None if self.cadence_rpm is None else self.cadence_rpm / 60,
            slowest=self.from_wheel_m_s,
            fastest=self.to_wheel_m_s,
            from_share=_share(self.from_travel_percent),
            to_share=_share(self.to_travel_percent),
        )


class ComplaintSection(FileModel):
    """What is wrong, in the rider's words and in the shop's."""

    words: str = ""
    """What the rider says, word for word; kept for the sheet, not interpreted."""
    symptom: Annotated[str, Field(min_length=3, max_length=120)] | None = None
    """A row of the shop's symptom table."""
    corner: Annotated[str, Field(min_length=1, max_length=80)] | None = None
    """The wheel it is about, as the bike file names it."""
    stroke: Literal["compression", "rebound"] | None = None
    from_m_s: Velocity | None = None
    to_m_s: Velocity | None = None
    shift_percent: Annotated[float, Field(ge=-90, le=400)] | None = None
    tolerance_percent: Percent | None = None
    hold_tolerance_percent: Percent | None = None
    at_every_velocity: bool = False
    """Whether each velocity of the target has to move by the shift, instead of the band on average."""
    familiarity_percent: Percent | None = None
    """The most that any force may move, so that the rider still knows the machine; 100 for no limit."""
    event: EventSection | None = None
    """One instant instead of a broad fault."""

    @model_validator(mode="after")
    def _in_order(self) -> ComplaintSection:
        if self.from_m_s is not None and self.to_m_s is not None and self.from_m_s >= self.to_m_s:
            raise ValueError(
                f"from_m_s lower than to_m_s, got {self.from_m_s:g} and {self.to_m_s:g}; swap them"
            )
        if self.shift_percent == 0:
            raise ValueError("a shift_percent other than 0; a complaint asks for a change")
        return self

    def complaint(self) -> Complaint:
        """The complaint in SI."""
        return Complaint(
            symptom=self.symptom,
            corner=self.corner,
            stroke=self.stroke,
            low=self.from_m_s,
            high=self.to_m_s,
            shift=_share(self.shift_percent),
            tolerance=_share(self.tolerance_percent),
            hold_tolerance=_share(self.hold_tolerance_percent),
            at_every_velocity=self.at_every_velocity,
        )

    @property
    def asks_for_a_band(self) -> bool:
        """Whether it says enough to find a band without a [[target]] table."""
        return self.symptom is not None or self.event is not None or self.from_m_s is not None


def _share(percent: float | None) -> float | None:
    return None if percent is None else percent / 100


def _metres(millimetres: float | None) -> float | None:
    return None if millimetres is None else millimetres * MILLIMETRE
