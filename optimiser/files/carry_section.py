"""The [carry] table of a job: the machine and damper whose feel is to be carried over."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from optimiser.files.base import FileModel
from optimiser.intake.carry import USUAL_STRETCH, CarryBand

Name = Annotated[str, Field(min_length=1, max_length=80)]
Velocity = Annotated[float, Field(gt=0, le=40)]
Share = Annotated[float, Field(ge=0, le=100)]


class CarryBandSection(FileModel):
    """A band of wheel velocity that is to feel alike."""

    name: Name
    stroke: Literal["compression", "rebound"]
    from_wheel_m_s: Velocity
    to_wheel_m_s: Velocity
    tolerance_percent: Annotated[float, Field(gt=0, le=100)] = 5.0

    @model_validator(mode="after")
    def _in_order(self) -> CarryBandSection:
        if self.from_wheel_m_s >= self.to_wheel_m_s:
            raise ValueError(
                f"from_wheel_m_s lower than to_wheel_m_s in band '{self.name}', got {self.from_wheel_m_s:g} "
                f"and {self.to_wheel_m_s:g}; swap them"
            )
        return self

    def band(self) -> CarryBand:
        """The band in SI."""
        return CarryBand(
            self.name, self.stroke, self.from_wheel_m_s, self.to_wheel_m_s, self.tolerance_percent / 100
        )


class CarrySection(FileModel):
    """Where the known feel comes from; files are named from the job file's own folder."""

    known_bike: str
    known_damper: str
    known_corner: Name
    """The wheel of the known machine."""
    corner: Name
    """The wheel of this job's machine."""
    from_travel_percent: Share = USUAL_STRETCH[0] * 100
    to_travel_percent: Share = USUAL_STRETCH[1] * 100
    """Stretch of the travel that is matched."""
    band: Annotated[tuple[CarryBandSection, ...], Field(min_length=1, max_length=12)]

    @model_validator(mode="after")
    def _in_order(self) -> CarrySection:
        if self.from_travel_percent >= self.to_travel_percent:
            raise ValueError(
                f"from_travel_percent lower than to_travel_percent, got {self.from_travel_percent:g} and "
                f"{self.to_travel_percent:g}; swap them"
            )
        return self

    @property
    def stretch(self) -> tuple[float, float]:
        """Stretch of the travel that is matched, as shares. [-]"""
        return (self.from_travel_percent / 100, self.to_travel_percent / 100)
