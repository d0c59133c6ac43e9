"""The [oil] table of a damper file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from optimiser.files.base import FileModel
from optimiser.files.bounds import Within
from optimiser.files.part_sense import refuse_what_is_no_oil

Name = Annotated[str, Field(min_length=1, max_length=80)]


class OilSection(FileModel):
    """The oil, by grade or by two measured viscosities."""

    name: Name = "damper oil"
    iso_vg: Literal[2, 3, 5, 7, 10, 15, 22, 32, 46, 68, 100, 150] | None = None
    """ISO 3448 grade: the kinematic viscosity at 40 °C, used with a viscosity index of 100."""
    viscosity_mm2_s: dict[str, Annotated[float, Within("oil.viscosity_mm2_s")]] | None = None
    """Kinematic viscosity at two temperatures in °C, as in { "40" = 16.1, "100" = 3.9 }."""
    density_kg_m3: Annotated[float, Within("oil.density_kg_m3")] = 860.0
    """Density at 15 °C."""
    temperature_c: Annotated[float, Within("oil.temperature_c")] = 40.0
    """Temperature that the curves are drawn at unless another is asked for."""

    @field_validator("viscosity_mm2_s", mode="before")
    @classmethod
    def _not_one_alone(cls, given: object) -> object:
        if isinstance(given, int | float):
            raise ValueError(
                'viscosities at two temperatures in °C, as in { "40" = 16.1, "100" = 3.9 }; '
                "where only the grade is known, write iso_vg = 15 instead"
            )
        return given

    @field_validator("viscosity_mm2_s")
    @classmethod
    def _two_temperatures(cls, table: dict[str, float] | None) -> dict[str, float] | None:
        if table is None:
            return None
        try:
            by_celsius = {float(celsius): value for celsius, value in table.items()}
        except ValueError:
            raise ValueError('temperatures in °C as keys, like { "40" = 16.1, "100" = 3.9 }') from None
        points = sorted(by_celsius.items())
        if len(table) != 2 or len(points) != 2 or points[0][1] <= points[1][1]:
            raise ValueError("viscosities at exactly two temperatures, lower at the hotter one")
        refuse_what_is_no_oil(by_celsius)
        return table

    @model_validator(mode="after")
    def _one_way_of_saying_it(self) -> OilSection:
        if (self.iso_vg is None) == (self.viscosity_mm2_s is None):
            raise ValueError("either iso_vg or viscosity_mm2_s, and not both")
        return self

    @property
    def viscosities(self) -> dict[float, float] | None:
        """Kinematic viscosity [mm²/s] by temperature [°C]; None where a grade is given."""
        table = self.viscosity_mm2_s
        return None if table is None else {float(celsius): value for celsius, value in table.items()}
