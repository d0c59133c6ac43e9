"""The shop's table of symptoms, read and checked."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final, Literal

from pydantic import Field, model_validator

import optimiser.intake
from optimiser.files.base import FileModel, read_toml
from optimiser.intake.complaint import NamedBand, Symptom, Vocabulary

OUR_OWN: Final = Path(optimiser.intake.__file__).with_name("symptoms.toml")
"""What is used where a shop has no file of its own."""

Words = Annotated[str, Field(min_length=3, max_length=120)]
Velocity = Annotated[float, Field(gt=0, le=20)]
Percent = Annotated[float, Field(gt=0, le=100)]


class NamedBandSection(FileModel):
    """A range of shaft velocity."""

    from_m_s: Velocity
    to_m_s: Velocity
    means: str = ""

    @model_validator(mode="after")
    def _in_order(self) -> NamedBandSection:
        if self.from_m_s >= self.to_m_s:
            raise ValueError(
                f"from_m_s lower than to_m_s, got {self.from_m_s:g} and {self.to_m_s:g}; swap them"
            )
        return self


class SymptomSection(FileModel):
    """One thing that riders say."""

    name: Words
    also: tuple[Words, ...] = ()
    """Other words for the same."""
    end: Annotated[str, Field(min_length=1, max_length=40)]
    """As the bike file names ends, or 'either'."""
    stroke: Literal["compression", "rebound"]
    band: Annotated[str, Field(min_length=1, max_length=40)]
    shift_percent: Annotated[float, Field(ge=-90, le=400)]
    """First step; its sign is the direction."""
    look_first: tuple[Words, ...] = ()
    reason: Annotated[str, Field(min_length=1, max_length=400)]

    @model_validator(mode="after")
    def _moves(self) -> SymptomSection:
        if self.shift_percent == 0:
            raise ValueError(f"a shift_percent other than 0 for '{self.name}'")
        return self


class SymptomsFile(FileModel):
    """The whole table."""

    hold_tolerance_percent: Percent
    target_tolerance_percent: Percent
    guard_ratio: Annotated[float, Field(gt=1, le=20)]
    """Between a target and a held band the velocity changes by this factor."""
    band: Annotated[dict[str, NamedBandSection], Field(min_length=1)]
    symptom: Annotated[list[SymptomSection], Field(min_length=1)]

    @model_validator(mode="after")
    def _bands_known(self) -> SymptomsFile:
        for row in self.symptom:
            if row.band not in self.band:
                raise ValueError(
                    f"band of '{row.name}' to be one of {', '.join(self.band)}, got {row.band!r}"
                )
        return self


def read_vocabulary(path: Path = OUR_OWN) -> Vocabulary:
    """The table of a shop's file, or our own."""
    file = read_toml(path, SymptomsFile, what="symptom table")
    bands = [
        NamedBand(name, section.from_m_s, section.to_m_s, section.means)
        for name, section in file.band.items()
    ]
    return Vocabulary(
        bands={band.name: band for band in sorted(bands, key=lambda band: band.low)},
        symptoms=tuple(
            Symptom(
                name=row.name,
                also=row.also,
                end=row.end,
                stroke=row.stroke,
                band=row.band,
                shift=row.shift_percent / 100,
                look_first=row.look_first,
                reason=row.reason,
            )
            for row in file.symptom
        ),
        target_tolerance=file.target_tolerance_percent / 100,
        hold_tolerance=file.hold_tolerance_percent / 100,
        guard=file.guard_ratio,
    )
