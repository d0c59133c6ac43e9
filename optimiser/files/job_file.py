"""The job file: who complains of what on which machine, which bands to move and which to hold."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from damping_model.units import MEGAPASCAL
from optimiser.files.at_hand_section import AtHandSection
from optimiser.files.base import FileModel
from optimiser.files.basics_section import BasicsSection
from optimiser.files.brackets_section import BracketsSection
from optimiser.files.carry_section import CarrySection
from optimiser.files.complaint_section import ComplaintSection
from optimiser.intake.bands import HoldBand, TargetBand
from optimiser.model.damper_answer import HOUR, USUAL_TIMES
from optimiser.model.stress import USUAL_LIMIT

Velocity = Annotated[float, Field(gt=0, le=20)]
Percent = Annotated[float, Field(gt=0, le=100)]
Name = Annotated[str, Field(min_length=1, max_length=80)]


class BandSection(FileModel):
    """A range of shaft velocity in one stroke."""

    name: Name
    stroke: Literal["compression", "rebound"]
    from_m_s: Velocity
    to_m_s: Velocity

    @model_validator(mode="after")
    def _in_order(self) -> BandSection:
        if self.from_m_s >= self.to_m_s:
            raise ValueError(
                f"band '{self.name}' to run from a lower to a higher velocity, "
                f"got from_m_s {self.from_m_s:g} and to_m_s {self.to_m_s:g}; swap them"
            )
        return self


class TargetSection(BandSection):
    """A band whose force is to move."""

    shift_percent: Annotated[float, Field(ge=-90, le=400)] | None = None
    """How far the force is to move, in percent of what it is."""
    shift_n: Annotated[float, Field(ge=-5000, le=5000)] | None = None
    """The same in newtons at the shaft."""
    tolerance_percent: Percent = 3.0
    """How far from the wanted force the band may end, in percent of the force before."""
    at_every_velocity: bool = False
    """Whether each velocity has to move by that, within the tolerance, instead of the band on average."""

    @model_validator(mode="after")
    def _one_shift(self) -> TargetSection:
        if (self.shift_percent is None) == (self.shift_n is None):
            raise ValueError(f"either shift_percent or shift_n in target '{self.name}', and not both")
        if 0 in (self.shift_percent, self.shift_n):
            raise ValueError(f"a shift other than 0 in target '{self.name}'; a band that stays is a [[hold]]")
        return self

    def band(self) -> TargetBand:
        """The band in SI."""
        return TargetBand(
            self.name,
            self.stroke,
            self.from_m_s,
            self.to_m_s,
            self.tolerance_percent / 100,
            shift=None if self.shift_percent is None else self.shift_percent / 100,
            shift_force=self.shift_n,
            at_every_velocity=self.at_every_velocity,
        )


class HoldSection(BandSection):
    """A band whose force stays."""

    tolerance_percent: Percent = 2.0
    """How far each velocity may move, in percent of the force before."""

    def band(self) -> HoldBand:
        """The band in SI."""
        return HoldBand(self.name, self.stroke, self.from_m_s, self.to_m_s, self.tolerance_percent / 100)


class WorkSection(FileModel):
    """What may be touched."""

    stack: Name | None = None
    """Name of the stack that may change; every stack of the damper may, together, when left out."""
    hours_to_open: Annotated[float, Field(ge=0, le=24)] = USUAL_TIMES.one_more / HOUR
    """What opening one assembly more than the first takes on the bench; the usual is common practice."""
    most_changes: Annotated[int, Field(ge=0, le=4)] = 2
    candidates: Annotated[int, Field(ge=1, le=50)] = 10
    height_may_grow_mm: Annotated[float, Field(ge=0, le=5)] = 0.2
    height_may_shrink_mm: Annotated[float, Field(ge=0, le=5)] = 0.4
    """How far the stack's height may change; the difference goes into spacers under the nut."""
    from_scratch: Literal["damper", "nothing"] | None = None
    """Fit the bands by small steps, as many as it takes, from the stack in the damper or from a face shim
    alone: for a whole curve rather than a shift. Nothing is proven then, and most_changes does not count."""
    clickers_to_middle: bool = False
    """When shims have to change anyway: choose them for clickers in the middle of their range, so that the
    rider keeps room on both sides."""
    temperature_c: Annotated[float, Field(ge=-30, le=150)] | None = None
    """Oil temperature of the ride; the damper's own when left out."""
    time_limit_s: Annotated[float, Field(gt=0, le=86_400)] | None = None
    opening_minutes: Annotated[float, Field(ge=0, le=1440)] = USUAL_TIMES.opening / 60
    """What it costs to open a damper for its shims, a bleed or a ring and to close it again; weighed against
    the parts under [[at_hand]], and among several stacks. The usual is common practice, no source."""
    change_minutes: Annotated[float, Field(ge=0, le=1440)] = USUAL_TIMES.change / 60
    """What each shim that changes costs then; likewise."""
    stress_limit_mpa: Annotated[float, Field(gt=0, le=5_000)] = USUAL_LIMIT / MEGAPASCAL
    """What no shim of a changed stack may be stressed beyond, at the largest pressure of the job's bands,
    unless the stack in the damper is; the usual is an assumption about valve steel."""
    stress_reason: Annotated[str, Field(min_length=1, max_length=500)] | None = None
    """Why a stack may go beyond it all the same; the sheet says so."""


class JobFile(FileModel):
    """One rider, one machine, one damper, one complaint. Files are named from the job file's own folder."""

    title: Annotated[str, Field(min_length=1, max_length=120)]
    shop: Annotated[str, Field(max_length=80)] = ""
    """What stands at the head of the sheet."""
    number: Annotated[str, Field(max_length=20)] = ""
    """The shop's own number of the job; without one the sheet has the file's name."""
    rider: str
    bike: str
    damper: str
    shelf: str
    complaint: ComplaintSection = ComplaintSection()
    basics: BasicsSection = BasicsSection()
    brackets: BracketsSection = BracketsSection()
    carry: CarrySection | None = None
    work: WorkSection = WorkSection()
    target: Annotated[tuple[TargetSection, ...], Field(max_length=12)] = ()
    hold: Annotated[tuple[HoldSection, ...], Field(max_length=24)] = ()
    at_hand: Annotated[tuple[AtHandSection, ...], Field(max_length=6)] = ()
    """What else may be turned: searched with the shims, the least work first."""

    @property
    def moves_something(self) -> bool:
        """Whether it says enough to find what has to move."""
        return self.carry is not None or bool(self.target) or self.complaint.asks_for_a_band

    @model_validator(mode="after")
    def _says_what_to_move(self) -> JobFile:
        if self.carry is not None and (self.target or self.complaint.asks_for_a_band):
            raise ValueError(
                "either a known feel under [carry], or targets and complaints; got both. "
                "Plan one first, then the other"
            )
        if not self.moves_something and not self.complaint.words:  # of words the reader hears more
            raise ValueError(
                "at least one [[target]], or a symptom, an event or velocities under [complaint], "
                "or a known feel under [carry]; got none, "
                "so there is nothing to move"
            )
        if self.at_hand and self.work.from_scratch is not None:
            raise ValueError(
                "[[at_hand]] beside a goal that is searched for; from_scratch goes by small steps"
            )
        parts = [(one.kind, one.name) for one in self.at_hand]
        if len(set(parts)) < len(parts):
            raise ValueError("one [[at_hand]] for each part; put all that there is of it into one list")
        if self.hold and not self.target:
            raise ValueError(
                "[[hold]] only beside [[target]]; a complaint in words holds the other bands itself"
            )
        return self
