"""The tables of a damper file: chambers, valves and stacks as a tuner measures them, in mm and bar."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field, model_validator

from optimiser.files.base import FileModel
from optimiser.files.bounds import Within
from optimiser.files.part_sense import (
    refuse_gap_beyond_ring,
    refuse_idle_clicks,
    refuse_ports_beyond_their_ring,
    refuse_seat_inside_ports,
)
from optimiser.files.stack_text import shims_from_lines

Name = Annotated[str, Field(min_length=1, max_length=80)]
MostPaths = Field(max_length=12)
"""Of one kind in one valve."""

Discharge = Annotated[float, Field(gt=0.3, le=1.0)]


class ChamberSection(FileModel):
    """A space that the stroke makes smaller or larger."""

    name: Name
    shrinks_in: Literal["compression", "rebound"]
    """The stroke in which oil is pushed out of it."""
    area: Literal["piston", "annulus", "shaft"] | Annotated[float, Within("chamber.area")]
    """What pushes the oil: the whole piston, the piston less the shaft, the shaft, or an area in mm²."""


class ReservoirSection(FileModel):
    """The space that takes the rest of the oil, under gas."""

    name: Name = "reservoir"
    gas_pressure_bar: Annotated[float, Within("reservoir.gas_pressure_bar")]
    """Gauge pressure at the temperature of the curves, at this place of the travel."""


class PathSection(FileModel):
    """What every way for the oil has in common."""

    name: Name


class StackSection(PathSection):
    """Ports that a shim stack closes."""

    opens_towards: Name
    """The chamber that the oil flows into when the stack lifts; against that flow it stays shut."""
    shims: list[str]
    """From the piston outwards: "24x0.20", "3 of 24x0.20", "22x0.30 hole 18" for a ring."""
    hole_mm: Annotated[float, Within("stack.hole_mm")]
    """Diameter of the shaft or bolt that the shims sit on."""
    clamp_diameter_mm: Annotated[float, Within("stack.clamp_diameter_mm")]
    """The circle that the stack bends about: the smaller of the clamp shim and the piston's hub."""
    port_count: Annotated[int, Within("stack.port_count")]
    port_area_mm2: Annotated[float, Within("stack.port_area_mm2")]
    """Area of all ports together at their narrowest."""
    port_length_mm: Annotated[float, Within("stack.port_length_mm")]
    port_inner_diameter_mm: Annotated[float, Within("stack.port_inner_diameter_mm")]
    port_outer_diameter_mm: Annotated[float, Within("stack.port_outer_diameter_mm")]
    """The ring on the piston's face that the oil presses on: from the one diameter to the other."""
    seat_diameter_mm: Annotated[float, Within("stack.seat_diameter_mm")]
    """The lip that the face shim closes on."""
    seat_proud_mm: Annotated[float, Within("stack.seat_proud_mm")] = 0.0
    """How far the lip stands above the hub (a dish that preloads the stack); negative when it lies below."""
    bore_diameter_mm: Annotated[float, Within("stack.bore_diameter_mm")]
    """What the face shim must clear."""
    room_mm: Annotated[float, Within("stack.room_mm")]
    """Most height of the stack that leaves the nut its threads."""
    least_crossover_mm: Annotated[float, Within("stack.least_crossover_mm")] | None = None
    """Least diameter of a shim that a wider one rests on, 0 for any: others belong on the clamp's side.
    When left out a quarter of the way from the clamp to the face shim; common practice, no source."""
    open_share: Annotated[float, Within("stack.open_share")] = 1.0
    """Share of the lip's circumference that oil can leave by."""
    port_discharge: Discharge = 0.8
    curtain_discharge: Discharge = 0.7
    momentum: bool = False
    """Whether the jet out of the ports also pushes on the face shim with its momentum; a small effect."""

    @model_validator(mode="after")
    def _face_in_order(self) -> StackSection:
        order = [
            ("hole_mm", self.hole_mm),
            ("port_inner_diameter_mm", self.port_inner_diameter_mm),
            ("port_outer_diameter_mm", self.port_outer_diameter_mm),
            ("seat_diameter_mm", self.seat_diameter_mm),
            ("bore_diameter_mm", self.bore_diameter_mm),
        ]
        for (inner, small), (outer, large) in pairwise(order):
            if small > large or (small == large and outer != "seat_diameter_mm"):
                raise ValueError(f"{inner} smaller than {outer}, got {small:g} and {large:g}")
        if not self.hole_mm <= self.clamp_diameter_mm <= self.port_inner_diameter_mm:
            raise ValueError(
                f"clamp_diameter_mm between hole_mm ({self.hole_mm:g}) and port_inner_diameter_mm "
                f"({self.port_inner_diameter_mm:g}), got {self.clamp_diameter_mm:g}"
            )
        refuse_ports_beyond_their_ring(
            area=self.port_area_mm2, inner=self.port_inner_diameter_mm, outer=self.port_outer_diameter_mm
        )
        shims_from_lines(self.shims, hole_mm=self.hole_mm)
        return self


class BleedSection(PathSection):
    """A fixed hole past the stack."""

    diameter_mm: Annotated[float, Within("bleed.diameter_mm")]
    length_mm: Annotated[float, Within("bleed.length_mm")] = 1.0
    count: Annotated[int, Within("bleed.count")] = 1
    opens_towards: Name | None = None
    """Set when a check lets oil through in one direction only."""


class ClickerSection(PathSection):
    """A needle moved by an outside adjuster, as a table of open area by clicks out from closed."""

    area_mm2: Annotated[
        list[Annotated[float, Within("clicker.area_mm2")]], Field(min_length=2, max_length=100)
    ]
    """Open area at 0, 1, 2 ... clicks out; never falling."""
    clicks_out: Annotated[int, Field(ge=0, le=99)]
    """Where it stands."""
    opens_towards: Name | None = None
    """Set when a check lets oil through in one direction only."""

    @model_validator(mode="after")
    def _monotone(self) -> ClickerSection:
        for click, (closed, opened) in enumerate(pairwise(self.area_mm2)):
            if opened < closed:
                raise ValueError(
                    f"area_mm2 that never falls with clicks out, got {closed:g} at {click} "
                    f"and {opened:g} at {click + 1}"
                )
        if self.clicks_out >= len(self.area_mm2):
            raise ValueError(f"clicks_out from 0 to {len(self.area_mm2) - 1}, got {self.clicks_out}")
        refuse_idle_clicks(self.area_mm2)
        return self


class CheckSection(PathSection):
    """A spring-backed plate that opens one way at nearly nothing."""

    opens_towards: Name
    port_area_mm2: Annotated[float, Within("check.port_area_mm2")]
    seat_diameter_mm: Annotated[float, Within("check.seat_diameter_mm")]
    opening_pressure_bar: Annotated[float, Within("check.opening_pressure_bar")] = 0.05
    spring_rate_n_mm: Annotated[float, Within("check.spring_rate_n_mm")]
    lift_stop_mm: Annotated[float, Within("check.lift_stop_mm")]

    @model_validator(mode="after")
    def _lip_around_ports(self) -> CheckSection:
        refuse_seat_inside_ports(area=self.port_area_mm2, seat=self.seat_diameter_mm)
        return self


class LeakSection(PathSection):
    """The clearance past a piston ring or a bushing."""

    diameter_mm: Annotated[float, Within("leak.diameter_mm")]
    clearance_mm: Annotated[float, Within("leak.clearance_mm")]
    """Radial clearance."""
    length_mm: Annotated[float, Within("leak.length_mm")]
    eccentricity: Annotated[float, Within("leak.eccentricity")] = 0.5

    @model_validator(mode="after")
    def _gap_around_ring(self) -> LeakSection:
        refuse_gap_beyond_ring(clearance=self.clearance_mm, diameter=self.diameter_mm)
        return self


class ValveSection(FileModel):
    """The ways that the oil has between two chambers."""

    name: Name
    between: Annotated[list[Name], Field(min_length=2, max_length=2)]
    stack: Annotated[tuple[StackSection, ...], MostPaths] = ()
    bleed: Annotated[tuple[BleedSection, ...], MostPaths] = ()
    clicker: Annotated[tuple[ClickerSection, ...], MostPaths] = ()
    check: Annotated[tuple[CheckSection, ...], MostPaths] = ()
    leak: Annotated[tuple[LeakSection, ...], MostPaths] = ()

    @model_validator(mode="after")
    def _somewhere_to_go(self) -> ValveSection:
        paths = [*self.stack, *self.bleed, *self.clicker, *self.check, *self.leak]
        if not paths:
            raise ValueError("at least one of stack, bleed, clicker, check or leak")
        for path in paths:
            towards = getattr(path, "opens_towards", None)
            if towards is not None and towards not in self.between:
                raise ValueError(
                    f"opens_towards of '{path.name}' to name one of {' and '.join(self.between)}, "
                    f"got {towards!r}"
                )
        return self
