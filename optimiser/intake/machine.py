"""Rider and machine as plain values: corners with a linkage, a spring and a share of the load."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import Final

from damping_model.vehicle.leverage import LeverageCurve
from damping_model.vehicle.spring import AirSpring, CoilSpring
from optimiser.errors import InputError
from optimiser.model.unmeasured import Unmeasured

STROKE_FITS: Final = 0.05
"""How far a damper's stroke and a corner's shaft travel may differ; common practice, no source. [-]"""


@dataclass(frozen=True, slots=True)
class AirPressure:
    """An air spring of which only the gauge pressure is known. [Pa]"""

    pressure: float


@dataclass(frozen=True, slots=True)
class Corner:
    """One wheel with its linkage, spring and tyre.

    Parameters
    ----------
    name : what the shop calls it.
    end : which symptoms concern it, as the symptom table names ends.
    leverage : wheel and shaft travel.
    spring : what holds it up; None when unknown.
    load_share : share of rider and machine that it carries. [-]
    unsprung_mass : what moves with the wheel. [kg]
    wheel_radius : outer radius with tyre; None when unknown. [m]
    tyre_pressure : least and most gauge pressure; None when unknown. [Pa]
    sag : least and most sag as a share of wheel travel; None for the usual range of its kind. [-]
    anti_squat : at sag, as a share of what would keep the frame level; None when unknown. [-]
    """

    name: str
    end: str
    leverage: LeverageCurve
    spring: CoilSpring | AirSpring | AirPressure | None = None
    load_share: float = 0.5
    unsprung_mass: float = 0.0
    wheel_radius: float | None = None
    tyre_pressure: tuple[float, float] | None = None
    sag: tuple[float, float] | None = None
    anti_squat: float | None = None

    @property
    def travel(self) -> float:
        """All of the wheel's travel. [m]"""
        return self.leverage.wheel_travel_end


@dataclass(frozen=True, slots=True)
class Machine:
    """Anything on sprung wheels.

    Parameters
    ----------
    name : what the shop calls it.
    kind : which of the usual ranges apply to it.
    mass : ready to ride, without rider. [kg]
    corners : its wheels.
    wheelbase : distance between the axles; None when unknown. [m]
    mass_height : height of the centre of gravity with the rider on; None when unknown. [m]
    not_measured : figures that are taken as usual, since nobody measured them.
    """

    name: str
    kind: str
    mass: float
    corners: tuple[Corner, ...]
    wheelbase: float | None = None
    mass_height: float | None = None
    not_measured: tuple[Unmeasured, ...] = ()

    def corner(self, name: str) -> Corner:
        """The corner of a name.

        Raises
        ------
        InputError
            Naming the corners that there are.
        """
        for corner in self.corners:
            if corner.name == name:
                return corner
        names = [corner.name for corner in self.corners]
        near = difflib.get_close_matches(name, names, n=1)
        hint = f"Did you mean '{near[0]}'?" if near else "Use one of those."
        raise InputError(f"got corner {name!r}, expected one of {', '.join(names)} of {self.name}. {hint}")

    def corners_worked_by(self, *, stroke: float) -> tuple[Corner, ...]:
        """Corners whose shaft travel is a damper's stroke [m], give or take a twentieth."""
        return tuple(
            corner
            for corner in self.corners
            if abs(corner.leverage.shaft_travel_end / stroke - 1) <= STROKE_FITS
        )

    def sprung_mass(self, corner: Corner, rider: Rider) -> float:
        """What the spring of a corner carries: its share of the load less its unsprung mass. [kg]"""
        return corner.load_share * (self.mass + rider.mass) - corner.unsprung_mass


@dataclass(frozen=True, slots=True)
class Rider:
    """Who sits on it.

    Parameters
    ----------
    name : what the shop calls the person.
    mass : dressed to ride, with all that is carried. [kg]
    words : what was said about the machine.
    """

    name: str
    mass: float
    words: str = ""
