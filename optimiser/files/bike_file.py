"""The bike file: any machine on sprung wheels, as corners with a linkage, a spring and a tyre."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, model_validator

from damping_model.errors import GeometryError
from damping_model.units import BAR, MILLIMETRE, SQUARE_MILLIMETRE
from damping_model.vehicle.leverage import LeverageCurve
from damping_model.vehicle.spring import AirSpring, CoilSpring
from optimiser.files.base import FileModel, read_toml
from optimiser.files.not_measured import NotMeasured, refuse_unknown_figures, unmeasured_of
from optimiser.intake.answer_checks import MOST_TYRE
from optimiser.intake.machine import AirPressure, Corner, Machine

Name = Annotated[str, Field(min_length=1, max_length=80)]
Points = Annotated[
    list[Annotated[list[float], Field(min_length=2, max_length=2)]], Field(min_length=2, max_length=2000)
]
Pressure = Annotated[float, Field(ge=0.01, le=60)]
Range = Annotated[list[float], Field(min_length=2, max_length=2)]

CUBIC_CENTIMETRE = 1e-6
CLOSEST_POINTS = 1e-3
"""Wheel travel between two leverage points, finer than anybody measures; closer ones are a slip. [mm]"""
WAYS_TO_SAY_IT = ("wheel_over_shaft", "shaft_over_wheel", "shaft_travel_mm", "one_to_one")


class LeverageSection(FileModel):
    """The linkage, in one of four ways; every list starts at full extension."""

    wheel_over_shaft: Points | None = None
    """Pairs of wheel travel in mm and wheel travel over shaft travel, as bicycles count it (2 to 3)."""
    shaft_over_wheel: Points | None = None
    """Pairs of wheel travel in mm and shaft travel over wheel travel, as car books count it (0.3 to 1)."""
    shaft_travel_mm: Points | None = None
    """Pairs of wheel travel and shaft travel, both in mm, as measured with the spring out."""
    one_to_one: Literal[True] | None = None
    """A fork: the wheel moves with the shaft."""
    head_angle_deg: Annotated[float, Field(ge=45, le=90)] | None = None
    """With one_to_one: angle of the fork from the ground, so that travel counts vertically."""

    @model_validator(mode="after")
    def _said_once(self) -> LeverageSection:
        said = [name for name in WAYS_TO_SAY_IT if getattr(self, name) is not None]
        if len(said) != 1:
            got = " and ".join(said) or "none"
            raise ValueError(f"exactly one of {', '.join(WAYS_TO_SAY_IT)}, got {got}")
        if self.head_angle_deg is not None and not self.one_to_one:
            raise ValueError("head_angle_deg only beside one_to_one; points count as they were measured")
        return self

    def curve(self, *, travel_mm: float) -> LeverageCurve:
        """The linkage over the whole of the wheel's travel [mm]."""
        if self.one_to_one:
            rake = math.radians(90 - self.head_angle_deg) if self.head_angle_deg is not None else 0.0
            return LeverageCurve.fork(travel=travel_mm * MILLIMETRE, rake=rake)
        points = self.wheel_over_shaft or self.shaft_over_wheel or self.shaft_travel_mm or []
        wheel, values = ([point[column] for point in points] for column in (0, 1))
        if abs(wheel[-1] - travel_mm) > 1e-6:
            raise GeometryError(
                f"got leverage points up to {wheel[-1]:g} mm of wheel travel, expected them up to "
                f"travel_mm = {travel_mm:g}. Add the last point, or mend travel_mm."
            )
        too_close = [x for before, x in pairwise(wheel) if 0 < x - before < CLOSEST_POINTS]
        if too_close:
            raise GeometryError(
                f"got two leverage points less than {CLOSEST_POINTS:g} mm of wheel travel apart, at "
                f"{too_close[0]:g} mm; expected each well beyond the last. Leave one out, or mend it."
            )
        metres = [x * MILLIMETRE for x in wheel]
        if self.wheel_over_shaft:
            return LeverageCurve.from_leverage_ratio(wheel=metres, leverage_ratio=values)
        if self.shaft_over_wheel:
            return LeverageCurve.from_motion_ratio(wheel=metres, motion_ratio=values)
        return LeverageCurve.from_shaft_travel(wheel=metres, shaft=[s * MILLIMETRE for s in values])


class SpringSection(FileModel):
    """What holds the corner up: a coil with its rate, or air with its pressure."""

    rate_n_mm: Annotated[float, Field(ge=0.1, le=1000)] | None = None
    preload_mm: Annotated[float, Field(ge=0, le=60)] = 0.0
    pressure_bar: Pressure | None = None
    """Gauge pressure at full extension."""
    area_mm2: Annotated[float, Field(ge=1, le=20_000)] | None = None
    volume_cm3: Annotated[float, Field(ge=0.1, le=5000)] | None = None
    negative_volume_cm3: Annotated[float, Field(ge=0, le=5000)] = 0.0
    """Negative chamber that fills itself to the same pressure at full extension; 0 for none."""

    @model_validator(mode="after")
    def _coil_or_air(self) -> SpringSection:
        if (self.rate_n_mm is None) == (self.pressure_bar is None):
            raise ValueError("either rate_n_mm (coil) or pressure_bar (air), and not both")
        if (self.area_mm2 is None) != (self.volume_cm3 is None):
            raise ValueError("area_mm2 and volume_cm3 together, or neither")
        return self

    def spring(self) -> CoilSpring | AirSpring | AirPressure:
        """The spring as the model sees it."""
        if self.rate_n_mm is not None:
            return CoilSpring(stiffness=self.rate_n_mm / MILLIMETRE, preload=self.preload_mm * MILLIMETRE)
        pressure = (self.pressure_bar or 0.0) * BAR
        if self.area_mm2 is None or self.volume_cm3 is None:
            return AirPressure(pressure=pressure)
        return AirSpring(
            pressure=pressure,
            area=self.area_mm2 * SQUARE_MILLIMETRE,
            volume=self.volume_cm3 * CUBIC_CENTIMETRE,
            negative_volume=self.negative_volume_cm3 * CUBIC_CENTIMETRE,
        )


class CornerSection(FileModel):
    """One wheel."""

    name: Name
    end: Literal["front", "rear"]
    """Which symptoms concern it, as the symptom table says."""
    travel_mm: Annotated[float, Field(ge=5, le=1000)]
    """All of the wheel's travel."""
    load_share: Annotated[float, Field(ge=0.01, le=1)]
    """Share of rider and machine that this wheel carries, standing still."""
    unsprung_mass_kg: Annotated[float, Field(ge=0, le=200)] = 0.0
    wheel_radius_mm: Annotated[float, Field(ge=50, le=1000)] | None = None
    tyre_pressure_bar: Range | None = None
    """Least and most."""
    sag_percent: Range | None = None
    """Least and most sag in percent of wheel travel; the usual range of its kind when left out."""
    anti_squat_percent: Annotated[float, Field(ge=-200, le=400)] | None = None
    """At sag, in the gear that is ridden most."""
    leverage: LeverageSection
    spring: SpringSection | None = None

    @model_validator(mode="after")
    def _makes_a_corner(self) -> CornerSection:
        for key, top in (("tyre_pressure_bar", MOST_TYRE), ("sag_percent", 100.0)):
            pair = getattr(self, key)
            if pair is not None and not 0 < pair[0] < pair[1] <= top:
                raise ValueError(f"{key} as [least, most] between 0 and {top:g}, got {pair}")
        try:
            self.corner()
        except GeometryError as error:
            raise ValueError(f"a linkage that can be built for corner '{self.name}': {error}") from None
        return self

    def corner(self) -> Corner:
        """The corner as the rest of the program sees it."""
        tyre, sag = self.tyre_pressure_bar, self.sag_percent
        return Corner(
            name=self.name,
            end=self.end,
            leverage=self.leverage.curve(travel_mm=self.travel_mm),
            spring=self.spring.spring() if self.spring else None,
            load_share=self.load_share,
            unsprung_mass=self.unsprung_mass_kg,
            wheel_radius=self.wheel_radius_mm * MILLIMETRE if self.wheel_radius_mm else None,
            tyre_pressure=(tyre[0] * BAR, tyre[1] * BAR) if tyre else None,
            sag=(sag[0] / 100, sag[1] / 100) if sag else None,
            anti_squat=None if self.anti_squat_percent is None else self.anti_squat_percent / 100,
        )


class BikeFile(FileModel):
    """A machine: bicycle, motorcycle, or anything else on sprung wheels."""

    name: Name
    kind: Name = "mountain bike"
    """Which of the usual ranges for sag and service apply to it."""
    mass_kg: Annotated[float, Field(ge=1, le=5000)]
    """Ready to ride, without rider."""
    wheelbase_mm: Annotated[float, Field(gt=300, le=6000)] | None = None
    mass_height_mm: Annotated[float, Field(gt=100, le=3000)] | None = None
    """Height of the centre of gravity with the rider on."""
    corner: Annotated[list[CornerSection], Field(min_length=1, max_length=12)]
    not_measured: NotMeasured = Field(default_factory=dict)
    """Figures of this file that nobody measured, each with how far off it may be, in percent; a corner's
    have its name in front, like "rear.load_share"."""

    @model_validator(mode="after")
    def _corners_apart(self) -> BikeFile:
        names = [corner.name for corner in self.corner]
        for name in names:
            if names.count(name) > 1:
                raise ValueError(f"every corner to have a name of its own, got {name!r} twice")
        shares = sum(corner.load_share for corner in self.corner)
        if shares > 1.001:
            raise ValueError(f"load shares that add up to at most 1, got {shares:g}")
        refuse_unknown_figures(
            self.not_measured, {"": self, **{corner.name: corner for corner in self.corner}}
        )
        return self

    def machine(self) -> Machine:
        """The machine as the rest of the program sees it."""
        return Machine(
            name=self.name,
            kind=self.kind,
            mass=self.mass_kg,
            corners=tuple(corner.corner() for corner in self.corner),
            wheelbase=self.wheelbase_mm * MILLIMETRE if self.wheelbase_mm else None,
            mass_height=self.mass_height_mm * MILLIMETRE if self.mass_height_mm else None,
            not_measured=unmeasured_of(self.not_measured),
        )


def read_machine(path: Path) -> Machine:
    """Read a bike file.

    Raises
    ------
    InputError
        Naming file, line and field.
    """
    return read_toml(path, BikeFile, what="bike").machine()
