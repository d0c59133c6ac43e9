"""What the wheel does with everything that a plan lists, as it is kept beside the plan."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from optimiser.documents.common import Document


class WheelTrace(Document):
    """The wheel's travel in the first event, with one damper."""

    times_s: list[float]
    travel_m: list[float]

    @model_validator(mode="after")
    def has_a_travel_at_each_time(self) -> WheelTrace:
        """Refuse a trace with a point missing."""
        if len(self.times_s) != len(self.travel_m) or not self.times_s or self.times_s[-1] <= 0:
            raise ValueError("expected travel at each time, from 0 on")
        return self


class WheelOfCandidate(Document):
    """One candidate at the wheel, in words."""

    first: str
    """What it makes of the first event."""
    felt: list[str]
    """What it makes of the other events that it is felt in."""
    summary: str
    """The events that it is felt in and those that it is not."""


class WheelWords(Document):
    """What is said of a plan's rides, in one system of units."""

    event: str
    before: str
    assumes: str
    rungs: list[str]
    candidates: list[WheelOfCandidate]
    rests_on: list[str]


class PlanWheelDocument(Document):
    """What the wheel does; either why that is not known, or all the rest."""

    format: Literal["shimwright wheel 1"] = "shimwright wheel 1"
    unknown: str = ""
    corner: str = ""
    rest_m: float = 0.0
    travel_m: float = 0.0
    words: dict[str, WheelWords] = Field(default_factory=dict)
    """By system of units."""
    before: WheelTrace | None = None
    traces: list[WheelTrace] = Field(default_factory=list)
    rungs: list[int] = Field(default_factory=list)
    """For each step of effort, the place of its trace."""
    candidates: list[int] = Field(default_factory=list)
    """For each candidate, the place of its trace."""
