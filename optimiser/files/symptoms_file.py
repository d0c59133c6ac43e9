"""The shop's table of symptoms, read and checked."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Final, Literal

from pydantic import Field, model_validator

import optimiser.intake
from optimiser.errors import InputError
from optimiser.files.base import FileModel, read_toml
from optimiser.intake.complaint import NamedBand, Symptom, Vocabulary

OUR_OWN: Final = Path(optimiser.intake.__file__).with_name("symptoms.toml")
"""What is used where a shop has no file of its own."""

SHOPS_OWN: Final = "symptoms.toml"
"""Name of a shop's own table, in the folder of its shelf."""

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
    """The whole table; what a shop's own file leaves out is as in the one that comes with the program."""

    hold_tolerance_percent: Percent | None = None
    """How far a band that nobody complained of may move."""
    target_tolerance_percent: Percent | None = None
    """How far from the wanted force the target's average may end."""
    right_way_least: Annotated[float, Field(ge=0, le=1)] | None = None
    """Each velocity of a target moves the right way by at least this part of what is asked on average."""
    right_way_most: Annotated[float, Field(ge=1, le=20)] | None = None
    """And by at most so many times as much."""
    guard_ratio: Annotated[float, Field(gt=1, le=20)] | None = None
    """Between a target and a held band the velocity changes by this factor."""
    band: dict[str, NamedBandSection] = Field(default_factory=dict)
    """Ranges of shaft velocity by name; one of a known name takes its place."""
    symptom: tuple[SymptomSection, ...] = ()
    """What riders say; a row of a known name takes its place, others are added."""

    def over(self, below: SymptomsFile) -> SymptomsFile:
        """What is said here, and what the other file says where nothing is."""
        rows = {row.name: row for row in (*below.symptom, *self.symptom)}
        said = {key: getattr(self, key) for key in self.model_fields_set - {"band", "symptom"}}
        return below.model_copy(
            update={**said, "band": {**below.band, **self.band}, "symptom": tuple(rows.values())}
        )


def read_vocabulary(path: Path = OUR_OWN) -> Vocabulary:
    """The table of a shop's file, or our own; a shop's file may leave out what it does not change.

    Raises
    ------
    InputError
        Naming file, line and field; or the symptom whose band is not there.
    """
    file = read_toml(path, SymptomsFile, what="symptom table")
    if path != OUR_OWN:
        file = file.over(read_toml(OUR_OWN, SymptomsFile, what="symptom table"))
    for row in file.symptom:
        if row.band not in file.band:
            raise InputError(
                f"{path}: symptom: expected the band of '{row.name}' to be one of {', '.join(file.band)}, "
                f"got {row.band!r}. Name one of them, or add a [band.{row.band}]."
            )
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
        target_tolerance=_given(file.target_tolerance_percent) / 100,
        hold_tolerance=_given(file.hold_tolerance_percent) / 100,
        guard=_given(file.guard_ratio),
        right_way=(_given(file.right_way_least), _given(file.right_way_most)),
    )


def vocabulary_of(shop: Path) -> Vocabulary:
    """The table of a shop: its own ``symptoms.toml`` where it has one, over the one of the program."""
    own = shop / SHOPS_OWN
    return read_vocabulary(own if own.exists() else OUR_OWN)


def _given(value: float | None) -> float:
    if value is None:
        raise InputError(f"{OUR_OWN}: a number is missing; install the program again.")
    return value
