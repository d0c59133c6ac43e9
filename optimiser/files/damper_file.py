"""The damper file as a whole: its own keys, and what its tables say of one another."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from optimiser.files.assembly_section import AssemblySection
from optimiser.files.base import FileModel
from optimiser.files.bounds import Within
from optimiser.files.damper_sections import ChamberSection, Name, ReservoirSection, ValveSection
from optimiser.files.damper_sense import refuse_contradictions
from optimiser.files.not_measured import NotMeasured, refuse_unknown_figures
from optimiser.files.oil_section import OilSection


class DamperFile(FileModel):
    """A damper as it stands on the bench."""

    name: Name
    fits: Literal["fork", "shock"]
    piston_diameter_mm: Annotated[float, Within("piston_diameter_mm")]
    shaft_diameter_mm: Annotated[float, Within("shaft_diameter_mm")]
    stroke_mm: Annotated[float, Within("stroke_mm")]
    friction_n: Annotated[float, Within("friction_n")] = 0.0
    """Drag of seals and bushings, reported apart from damping."""
    gas_charged: bool
    """Whether opening it lets go of gas under pressure; the build sheet warns."""
    oil: OilSection
    assembly: AssemblySection = AssemblySection()
    reservoir: ReservoirSection
    chamber: Annotated[list[ChamberSection], Field(min_length=1, max_length=6)]
    valve: Annotated[list[ValveSection], Field(min_length=1, max_length=12)]
    not_measured: NotMeasured = Field(default_factory=dict)
    """Figures of this file that nobody measured, each with how far off it may be, in percent: plans and
    sheets name them. A figure of a part has its name in front, like "compression stack.port_area_mm2"."""

    @model_validator(mode="after")
    def _joined_up(self) -> DamperFile:
        if self.shaft_diameter_mm >= self.piston_diameter_mm:
            raise ValueError(
                f"shaft_diameter_mm smaller than piston_diameter_mm, got {self.shaft_diameter_mm:g} "
                f"and {self.piston_diameter_mm:g}"
            )
        spaces = [chamber.name for chamber in self.chamber] + [self.reservoir.name]
        _unique(spaces, "chamber")
        for valve in self.valve:
            for end in valve.between:
                if end not in spaces:
                    raise ValueError(f"valve '{valve.name}' between two of {', '.join(spaces)}, got {end!r}")
        paths = [
            path
            for valve in self.valve
            for path in (*valve.stack, *valve.bleed, *valve.clicker, *valve.check, *valve.leak)
        ]
        _unique([path.name for path in paths], "stack, bleed, clicker, check or leak")
        parts: dict[str, FileModel] = {"": self, "oil": self.oil, "reservoir": self.reservoir}
        refuse_unknown_figures(
            self.not_measured,
            parts | {part.name: part for part in self.chamber} | {path.name: path for path in paths},
        )
        refuse_contradictions(
            chambers=self.chamber,
            valves=self.valve,
            piston=self.piston_diameter_mm,
            shaft=self.shaft_diameter_mm,
            gas=self.reservoir.gas_pressure_bar,
            charged=self.gas_charged,
        )
        return self


def _unique(names: list[str], what: str) -> None:
    for name in names:
        if names.count(name) > 1:
            raise ValueError(f"every {what} to have a name of its own, got {name!r} twice")
