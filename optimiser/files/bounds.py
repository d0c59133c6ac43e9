"""What the numbers of a damper file can be at all, as one table: field, least, most, unit, why.

The bounds are wide: they keep out what no damper has, a slipped decimal point or a wrong unit, and leave what
is only unusual. They are common practice without a source unless the reason says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from damping_model.units import BAR, POUND_PER_SQUARE_INCH


@dataclass(frozen=True, slots=True)
class Bound:
    """What one number of a file lies within.

    Parameters
    ----------
    field : the key, with its table in front where it is not the file's own.
    least, most : in the unit of the key, both allowed.
    unit : for people; empty where there is none.
    why : why nothing lies beyond, as the end of a sentence.
    """

    field: str
    least: float
    most: float
    unit: str
    why: str

    @property
    def span(self) -> str:
        """In words: ``0.05 to 20 mm``."""
        return f"{self.least:g} to {self.most:g} {self.unit}".rstrip()

    def refusal(self, value: float) -> str | None:
        """What was expected instead of a value, why, and what may have been meant; None when it is inside."""
        if self.least <= value <= self.most:
            return None
        bar = value * POUND_PER_SQUARE_INCH / BAR
        if self.unit == "bar" and self.least <= bar <= self.most:
            return f"{self.span}: {self.why}; if it is psi, write {bar:.4g}"
        near = (value / scale for scale in (10, 100, 1000, 0.1, 0.01, 0.001))
        meant = next((one for one in near if self.least <= one <= self.most), None)
        way = "check the number and its unit" if meant is None else f"did you mean {meant:g}?"
        return f"{self.span}: {self.why}; {way}"


BOUNDS: Final = (
    Bound("piston_diameter_mm", 8, 120, "mm", "no shim stack sits on a smaller or a larger piston"),
    Bound("shaft_diameter_mm", 3, 60, "mm", "a thinner shaft bends, a thicker one leaves no ring of oil"),
    Bound("stroke_mm", 5, 1000, "mm", "a damper of no stroke does not move, and none is longer than a metre"),
    Bound("friction_n", 0, 500, "N", "seals that drag more hold a rider up"),
    Bound(
        "oil.viscosity_mm2_s", 0.4, 2000, "mm²/s", "thinner is no oil, thicker does not flow through ports"
    ),
    Bound("oil.density_kg_m3", 700, 1100, "kg/m³", "damper oils lie between petrol and water with additives"),
    Bound("oil.temperature_c", -30, 150, "°C", "oil is stiff below and breaks down beyond"),
    Bound(
        "reservoir.gas_pressure_bar", 0, 60, "bar", "gauge pressure is not negative, and seals blow beyond"
    ),
    Bound("chamber.area", 1, 20_000, "mm²", "a chamber is swept by a shaft or a piston"),
    Bound("stack.hole_mm", 2, 60, "mm", "shims sit on a bolt or a shaft"),
    Bound("stack.clamp_diameter_mm", 2, 80, "mm", "a stack bends about its clamp shim"),
    Bound("stack.port_count", 1, 40, "", "a piston face has room for so many ports"),
    Bound("stack.port_area_mm2", 0.1, 10_000, "mm²", "less is a bleed, more is wider than any piston"),
    Bound("stack.port_length_mm", 0.1, 100, "mm", "a port is as long as its piston is high"),
    Bound("stack.port_inner_diameter_mm", 2, 120, "mm", "ports lie on the face of a piston"),
    Bound("stack.port_outer_diameter_mm", 2, 120, "mm", "ports lie on the face of a piston"),
    Bound("stack.seat_diameter_mm", 2, 120, "mm", "the lip lies on the face of a piston"),
    Bound("stack.seat_proud_mm", -0.5, 0.5, "mm", "a dish of more would bend shims for good"),
    Bound("stack.bore_diameter_mm", 3, 150, "mm", "the bore is as wide as the piston, or a valve's own body"),
    Bound("stack.room_mm", 0.1, 60, "mm", "a nut needs its threads"),
    Bound("stack.least_crossover_mm", 0, 100, "mm", "a crossover is a shim"),
    Bound("stack.open_share", 0.05, 1, "", "a lip that lets oil out by less of its round is shut"),
    Bound("bleed.diameter_mm", 0.05, 20, "mm", "a finer hole clogs, a wider one is no bleed"),
    Bound("bleed.length_mm", 0.01, 1000, "mm", "from a sheet's thickness to a hose"),
    Bound("bleed.count", 1, 40, "", "a valve has room for so many"),
    Bound("clicker.area_mm2", 0, 500, "mm²", "from shut to a port of its own"),
    Bound("check.port_area_mm2", 0.1, 10_000, "mm²", "less is a bleed, more is wider than any piston"),
    Bound("check.seat_diameter_mm", 2, 120, "mm", "the lip lies on the face of a piston"),
    Bound(
        "check.opening_pressure_bar", 0, 20, "bar", "a check opens at nearly nothing, a blow-off at little"
    ),
    Bound(
        "check.spring_rate_n_mm", 0.01, 500, "N/mm", "a weaker spring does not shut, a stiffer one is a stop"
    ),
    Bound("check.lift_stop_mm", 0.02, 10, "mm", "a plate that lifts less is shut, more finds no room"),
    Bound("leak.diameter_mm", 2, 150, "mm", "a ring runs in a bore, a bushing on a shaft"),
    Bound("leak.clearance_mm", 0.0005, 0.5, "mm", "half a micrometre seizes, half a millimetre is no seal"),
    Bound("leak.length_mm", 0.1, 200, "mm", "a ring has a height, a bushing a length"),
    Bound("leak.eccentricity", 0, 1, "", "offset over clearance: 0 is centred, 1 touches"),
    Bound("assembly.nut_torque_n_m", 0.5, 150, "N m", "less holds no stack, more is no damper's nut"),
    Bound("assembly.oil_level_mm", 0, 1000, "mm", "a level lies inside the damper"),
    Bound("assembly.gas_charge_bar", 0, 60, "bar", "gauge pressure is not negative, and seals blow beyond"),
)
"""The table, in the order of the file."""

BY_FIELD: Final = {bound.field: bound for bound in BOUNDS}

FINEST_CLICK: Final = 1e-4
"""Least open area that is not shut: a hole of eleven micrometres. [mm²]"""


@dataclass(frozen=True, slots=True)
class Within:
    """Holds a number of a file's model to its row of the table; stands in its annotation.

    Parameters
    ----------
    field : of the row.
    """

    field: str

    def check(self, value: float) -> float:
        """The value, refused with the row's reason when it lies outside."""
        refusal = BY_FIELD[self.field].refusal(value)
        if refusal is not None:
            raise ValueError(refusal)
        return value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Check after the number was read."""
        return core_schema.no_info_after_validator_function(self.check, handler(source))

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """The bounds as the JSON Schema of the file has them."""
        bound = BY_FIELD[self.field]
        return handler(schema) | {"minimum": bound.least, "maximum": bound.most}
