"""A machine as a ride sees it: a body on one or two corners, each with spring, damper, stops and tyre."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import GeometryError
from damping_model.ride.damping_curve import DampingCurve
from damping_model.vehicle.leverage import LeverageCurve
from damping_model.vehicle.spring import Spring

Floats = NDArray[np.float64]

SMOOTHED: Final = 5e-3
"""Shaft velocity over which friction changes its sign: F tanh(v/v0). It creeps instead of sticking. [m/s]"""

TYRE_RAMP: Final = 1e-3
"""How far a tyre is pressed in before it damps in full, so that touching the ground is no jump. [m]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tyre:
    """A spring and a damper side by side that push and never pull.

    Parameters
    ----------
    rate : vertical. [N/m]
    damping : vertical. [N s/m]
    """

    rate: float
    damping: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what is no tyre."""
        if not (0 < self.rate < math.inf and 0 <= self.damping < math.inf):
            raise GeometryError(
                f"got a tyre of {self.rate / 1e3:g} N/mm and {self.damping:g} N s/m, "
                "expected a rate above 0 and a damping of 0 or more."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    r"""A spring at one end of the travel, met only there.

    Parameters
    ----------
    start : wheel travel at which it is met. [m]
    stiffness : force over the square of how far it is pressed in. [N/m^2]
    damping : share that the force grows by for each m/s of closing. [s/m]

    Notes
    -----
    :math:`k d^2 (1 + \chi d')`, never below 0: K. H. Hunt and F. R. E. Crossley, "Coefficient of restitution
    interpreted as damping in vibroimpact", J. Appl. Mech. 42 (1975) 440-445, with the exponent 2.
    """

    start: float
    stiffness: float
    damping: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what is no stop."""
        if not (math.isfinite(self.start) and 0 <= self.stiffness < math.inf and 0 <= self.damping < 100):
            raise GeometryError(
                f"got a stop at {self.start * 1e3:g} mm of {self.stiffness:g} N/m^2, expected a place in the "
                "travel, and a stiffness and damping of 0 or more."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspension:
    """One corner, without the body that it carries.

    Parameters
    ----------
    leverage : wheel and shaft travel.
    spring : at the shaft.
    gas_force : constant push of the damper's gas on its shaft. [N]
    damping : the damper's curve.
    friction : drag of seals and bushings at the shaft. [N]
    unsprung_mass : what moves with the wheel. [kg]
    tyre : between wheel and road.
    top_out, end_spring, end : what is met where the travel ends: fully out, near its end, at its end.
    """

    leverage: LeverageCurve
    spring: Spring
    damping: DampingCurve
    unsprung_mass: float
    tyre: Tyre
    top_out: Stop
    end_spring: Stop
    end: Stop
    gas_force: float = 0.0
    friction: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a corner that does not stand on a wheel."""
        if not 0 < self.unsprung_mass < math.inf:
            raise GeometryError(
                f"got an unsprung mass of {self.unsprung_mass:g} kg, expected more than 0: a wheel has one."
            )
        if not (0 <= self.friction < math.inf and 0 <= self.gas_force < math.inf):
            raise GeometryError(
                f"got {self.friction:g} N of friction and {self.gas_force:g} N of gas, expected 0 or more."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    r"""What the springs carry, as masses at the corners that are tied to one another.

    Parameters
    ----------
    shares : mass that stands on each corner at rest; one or two. [kg]
    wheelbase : between two corners. [m]
    pitch_inertia : about the centre of mass; not used for one corner. [kg m^2]

    Notes
    -----
    With the centre of mass :math:`a` behind the front axle and :math:`b` before the rear one, rigid-body
    mechanics gives for the axles' accelerations under forces at the axles the inverse mass matrix
    :math:`[[1/m + a^2/I, 1/m - ab/I], [1/m - ab/I, 1/m + b^2/I]]`. Where :math:`I = m a b` the two ends move
    as if each carried its share alone.
    """

    shares: tuple[float, ...]
    wheelbase: float = 1.0
    pitch_inertia: float | None = None

    def __post_init__(self) -> None:
        """Refuse a body without mass, or on more wheels than a plane has."""
        inertia = 1.0 if self.pitch_inertia is None else self.pitch_inertia
        if len(self.shares) not in {1, 2} or not all(0 < share < math.inf for share in self.shares):
            got = " and ".join(f"{share:.3g} kg" for share in self.shares) or "nothing"
            raise GeometryError(
                f"got {got} on the springs, expected a mass above 0 on one corner or on each of two. "
                "Check the shares of the load and the unsprung masses."
            )
        if not (0 < self.wheelbase < math.inf and 0 < inertia < math.inf):
            raise GeometryError(
                f"got a wheelbase of {self.wheelbase * 1e3:g} mm and a pitch inertia of {inertia:g} kg m^2, "
                "expected both above 0."
            )

    @property
    def weights(self) -> Floats:
        """Inverse of the mass matrix at the corners (corners, corners). [1/kg]"""
        if len(self.shares) == 1:
            return np.array([[1 / self.shares[0]]])
        mass = sum(self.shares)
        a, b = (self.wheelbase * share / mass for share in self.shares[::-1])
        inertia = mass * a * b if self.pitch_inertia is None else self.pitch_inertia
        across = 1 / mass - a * b / inertia
        return np.array([[1 / mass + a * a / inertia, across], [across, 1 / mass + b * b / inertia]])


@dataclass(frozen=True, slots=True, kw_only=True)
class RidingMachine:
    """A body on its corners, the front one first.

    Parameters
    ----------
    body : with its mass.
    corners : as many as the body stands on.
    """

    body: Body
    corners: tuple[Suspension, ...]

    def __post_init__(self) -> None:
        """Refuse corners that the body does not stand on."""
        if len(self.corners) != len(self.body.shares):
            raise GeometryError(
                f"got {len(self.corners)} corners and a body on {len(self.body.shares)}, "
                "expected as many of each."
            )
