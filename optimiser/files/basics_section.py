"""The [basics] table of a job: what was measured before anybody thought of opening a damper."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from damping_model.units import BAR, MILLIMETRE
from optimiser.files.base import FileModel
from optimiser.intake.answer_checks import MOST_TYRE
from optimiser.intake.measured import Basics, CornerBasics

Name = Annotated[str, Field(min_length=1, max_length=80)]
Sag = Annotated[float, Field(gt=0, le=1000)]


class CornerBasicsSection(FileModel):
    """What was measured at one wheel; leave out what was not."""

    name: Name
    """The corner's name in the bike file."""
    sag_mm: Sag | None = None
    """Wheel travel used by the rider sitting still."""
    sag_shaft_mm: Sag | None = None
    """The same measured at the shaft."""
    sag_percent: Annotated[float, Field(gt=0, lt=100)] | None = None
    """The same in percent of wheel travel."""
    tyre_pressure_bar: Annotated[float, Field(ge=0, le=MOST_TYRE)] | None = None
    free_play: bool | None = None
    """Whether anything rattles: bearings, bushings, headset, mounts."""
    leaks: bool | None = None
    """Whether oil or air gets out."""
    spring_pressure_bar: Annotated[float, Field(gt=0, le=60)] | None = None
    """Of an air spring when the sag was measured, where it is not the bike file's."""
    preload_mm: Annotated[float, Field(ge=0, le=60)] | None = None
    spring_rate_n_mm: Annotated[float, Field(gt=0, le=1000)] | None = None
    """Of a coil when the sag was measured, where they are not the bike file's."""

    @model_validator(mode="after")
    def _one_sag(self) -> CornerBasicsSection:
        said = [k for k in ("sag_mm", "sag_shaft_mm", "sag_percent") if getattr(self, k) is not None]
        if len(said) > 1:
            raise ValueError(f"one of sag_mm, sag_shaft_mm or sag_percent, got {' and '.join(said)}")
        return self

    def values(self) -> CornerBasics:
        """The measurements in SI."""
        return CornerBasics(
            name=self.name,
            sag=None if self.sag_mm is None else self.sag_mm * MILLIMETRE,
            sag_at_shaft=None if self.sag_shaft_mm is None else self.sag_shaft_mm * MILLIMETRE,
            sag_share=None if self.sag_percent is None else self.sag_percent / 100,
            tyre_pressure=None if self.tyre_pressure_bar is None else self.tyre_pressure_bar * BAR,
            free_play=self.free_play,
            leaks=self.leaks,
            pressure=None if self.spring_pressure_bar is None else self.spring_pressure_bar * BAR,
            preload=None if self.preload_mm is None else self.preload_mm * MILLIMETRE,
            stiffness=None if self.spring_rate_n_mm is None else self.spring_rate_n_mm / MILLIMETRE,
        )


class BasicsSection(FileModel):
    """What was measured; a check that was not made is named as such and stops nothing."""

    hours_since_service: Annotated[float, Field(ge=0, le=100_000)] | None = None
    override_reason: Annotated[str, Field(min_length=1, max_length=500)] | None = None
    """Why the plan goes on although something is out of range; printed on the build sheet."""
    corner: Annotated[tuple[CornerBasicsSection, ...], Field(max_length=12)] = ()

    def values(self) -> Basics:
        """The measurements in SI."""
        return Basics(
            hours_since_service=self.hours_since_service,
            override_reason=self.override_reason,
            corners=tuple(corner.values() for corner in self.corner),
        )
