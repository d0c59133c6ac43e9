"""The ways that oil has past a piston, other than under a shim stack: holes, needles, rings, checks."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from damping_model.errors import GeometryError
from damping_model.flow.checks import (
    check_direction,
    check_discharge,
    check_share,
    not_negative,
    positive,
)
from damping_model.flow.oil import OilState
from damping_model.flow.orifice import Curtain, Resistance, annular_leak, curtain, hole


@dataclass(frozen=True, slots=True, kw_only=True)
class Bleed:
    """A fixed hole past the stack.

    Parameters
    ----------
    name : of the path.
    diameter : of one hole. [m]
    length : of one hole. [m]
    count : how many holes.
    discharge : coefficient in turbulent flow; by length when not given. [-]
    direction : 1 or -1 where a check lets oil through one way only, counted from the valve's first chamber to
        its second; 0 for both ways.

    Raises
    ------
    GeometryError
        When a value is one that no such part has, with the name of the path.
    """

    name: str
    diameter: float
    length: float = 0.0
    count: int = 1
    discharge: float | None = None
    direction: int = 0

    def __post_init__(self) -> None:
        """Refuse what is no hole."""
        positive(self.name, "diameter", self.diameter)
        not_negative(self.name, "length", self.length)
        if self.count < 1:
            raise GeometryError(f"'{self.name}': got {self.count} holes, expected 1 or more.")
        check_discharge(self.name, self.discharge)
        check_direction(self.name, self.direction, both=True)

    def resistance(self, *, oil: OilState) -> Resistance:
        """Resistance to flow in a direction that is open."""
        area = math.pi / 4 * self.diameter**2 * self.count
        return hole(area=area, oil=oil, length=self.length, count=self.count, discharge=self.discharge)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clicker:
    """A needle moved by an outside adjuster: open area by clicks out from closed.

    Parameters
    ----------
    name : of the adjuster.
    areas : open area at 0, 1, 2 ... clicks out; never falling. [m^2]
    position : clicks out where it stands.
    discharge : coefficient in turbulent flow; 1 where the areas are effective ones. [-]
    length : of the throat. [m]
    direction : 1 or -1 where a check lets oil through one way only; 0 for both ways.

    Raises
    ------
    GeometryError
        When a value is one that no such part has, with the name of the path.
    """

    name: str
    areas: tuple[float, ...]
    position: int
    discharge: float = 0.7
    length: float = 0.0
    direction: int = 0

    def __post_init__(self) -> None:
        """Refuse a table that no needle has."""
        if not self.areas:
            raise GeometryError(f"'{self.name}': got no areas, expected one for every click.")
        for click, area in enumerate(self.areas):
            not_negative(self.name, f"area at {click} clicks", area)
        for click, (closed, opened) in enumerate(pairwise(self.areas)):
            if opened < closed:
                raise GeometryError(
                    f"'{self.name}': got an area that falls from click {click} to {click + 1}, expected one "
                    "that never falls with clicks out."
                )
        not_negative(self.name, "length", self.length)
        check_discharge(self.name, self.discharge)
        check_direction(self.name, self.direction, both=True)
        self.area_at(self.position)

    def area_at(self, position: int) -> float:
        """Open area at a number of clicks out. [m^2]"""
        if not 0 <= position < len(self.areas):
            raise GeometryError(
                f"'{self.name}': got {position} clicks out, expected 0 to {len(self.areas) - 1}."
            )
        return self.areas[position]

    def set_to(self, position: int) -> Clicker:
        """The same adjuster at a number of clicks out."""
        return replace(self, position=position)

    def resistance(self, *, oil: OilState) -> Resistance:
        """Resistance to flow in a direction that is open."""
        return hole(area=self.area_at(self.position), oil=oil, length=self.length, discharge=self.discharge)


@dataclass(frozen=True, slots=True, kw_only=True)
class RingLeak:
    """The clearance past a piston ring or a bushing.

    Parameters
    ----------
    name : of the path.
    diameter : of the gap. [m]
    clearance : radial, when centred. [m]
    length : along the flow. [m]
    eccentricity : offset over clearance, 0 to 1. [-]

    Raises
    ------
    GeometryError
        When a value is one that no such part has, with the name of the path.
    """

    name: str
    diameter: float
    clearance: float
    length: float
    eccentricity: float = 0.5

    def __post_init__(self) -> None:
        """Refuse what is no gap."""
        for what, value in (
            ("diameter", self.diameter),
            ("clearance", self.clearance),
            ("length", self.length),
        ):
            positive(self.name, what, value)
        if not 0 <= self.eccentricity <= 1:
            raise GeometryError(
                f"'{self.name}': got an eccentricity of {self.eccentricity:g}, expected 0 to 1."
            )

    @property
    def direction(self) -> int:
        """Open both ways."""
        return 0

    def resistance(self, *, oil: OilState) -> Resistance:
        """Resistance to flow, the same both ways."""
        return annular_leak(
            diameter=self.diameter,
            clearance=self.clearance,
            length=self.length,
            eccentricity=self.eccentricity,
            oil=oil,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckPlate:
    r"""A spring-backed plate, or a one-way shim on a weak spring, that opens one way.

    Parameters
    ----------
    name : of the path.
    direction : 1 if it opens for flow from the valve's first chamber to its second, -1 for the other way.
    port_area : area that the oil presses on, all ports together. [m^2]
    seat_radius : radius of the lip that it rises from. [m]
    opening_pressure : pressure at which it leaves the lip. [Pa]
    spring_rate : of the spring behind it. [N/m]
    lift_stop : most lift. [m]
    port_length, port_count : of its ports. [m]
    port_discharge, curtain_discharge : coefficients in turbulent flow. [-]
    open_share : share of the lip's circumference that oil can leave by. [-]

    Raises
    ------
    GeometryError
        When a value is one that no such part has, with the name of the path.

    Notes
    -----
    Equation (26): the lift is :math:`x/(1 + (x/s)^4)^{1/4}` with :math:`x = (p - p_0)A/k` and the stop s,
    linear at first and without a kink at the stop.
    """

    name: str
    direction: int
    port_area: float
    seat_radius: float
    opening_pressure: float
    spring_rate: float
    lift_stop: float
    port_length: float = 0.0
    port_count: int = 1
    port_discharge: float = 0.8
    curtain_discharge: float = 0.7
    open_share: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what could not open and close."""
        for what, value in (
            ("port area", self.port_area),
            ("seat radius", self.seat_radius),
            ("spring rate", self.spring_rate),
            ("lift stop", self.lift_stop),
        ):
            positive(self.name, what, value)
        not_negative(self.name, "opening pressure", self.opening_pressure)
        not_negative(self.name, "port length", self.port_length)
        check_direction(self.name, self.direction, both=False)
        check_discharge(self.name, self.port_discharge)
        check_discharge(self.name, self.curtain_discharge)
        check_share(self.name, self.open_share)
        if self.port_count < 1:
            raise GeometryError(f"'{self.name}': got {self.port_count} ports, expected 1 or more.")

    def ports(self, *, oil: OilState) -> Resistance:
        """Resistance of the ports."""
        return hole(
            area=self.port_area,
            oil=oil,
            length=self.port_length,
            count=self.port_count,
            discharge=self.port_discharge,
        )

    def curtain(self, *, oil: OilState) -> Curtain:
        """The gap between lip and plate."""
        return curtain(
            seat_radius=self.seat_radius,
            land_radius=self.seat_radius,
            open_share=self.open_share,
            discharge=self.curtain_discharge,
            oil=oil,
        )
