"""Wheel and shaft: how travel, velocity, force, damping and rate pass through the linkage between them.

Two conventions are about. Books on cars give the *motion ratio*, shaft travel over wheel travel;
bicycles and motorcycles give the *leverage ratio*, wheel travel over shaft travel. Each is the other's
reciprocal; here both have their full names and neither is ever called 'the ratio'.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import overload

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator, PPoly
from scipy.optimize import brentq

from damping_model.errors import GeometryError
from damping_model.vehicle.leverage_points import plausible, points, rises, starts_extended


@dataclass(frozen=True, slots=True)
class LeverageCurve:
    r"""Shaft travel as a smooth rising function of wheel travel; the ratios are its derivative.

    Build one with :meth:`from_shaft_travel`, :meth:`from_leverage_ratio`, :meth:`from_motion_ratio`,
    :meth:`constant` or :meth:`fork`.

    Parameters
    ----------
    shaft : shaft travel [m] against wheel travel [m], both zero at full extension.

    Notes
    -----
    Interpolation keeps the shape of the points (piecewise cubic Hermite [1]_): it never runs backwards or
    overshoots between them. Points of travel are interpolated themselves; points of a ratio are
    interpolated as motion ratio and integrated exactly, so that travel and ratio always agree.

    With :math:`s(x)` the shaft travel and :math:`M = ds/dx` the motion ratio, virtual work gives
    :math:`F_w = M F_s`, hence :math:`v_s = M v_w`, :math:`c_w = M^2 c_s` and
    :math:`k_w = dF_w/dx = M^2 k_s + F_s\,dM/dx`.

    References
    ----------
    .. [1] F. N. Fritsch and R. E. Carlson, "Monotone piecewise cubic interpolation",
       SIAM J. Numer. Anal. 17 (1980) 238-246.
    """

    shaft: PPoly

    @classmethod
    def from_shaft_travel(cls, *, wheel: Sequence[float], shaft: Sequence[float]) -> LeverageCurve:
        """Curve through measured pairs of wheel and shaft travel.

        Parameters
        ----------
        wheel, shaft : travel from full extension, both starting at 0 and rising. [m]

        Raises
        ------
        GeometryError
            When the points run backwards, do not start at full extension, or are not numbers.
        """
        x, s = points("shaft travel", wheel, shaft)
        starts_extended("wheel travel", x)
        starts_extended("shaft travel", s)
        rises("shaft travel", s)
        curve = PchipInterpolator(x, s)
        everywhere = np.unique(np.concatenate([np.linspace(a, b, 9) for a, b in pairwise(x)]))
        with np.errstate(divide="ignore"):
            plausible(everywhere, 1 / curve(everywhere, 1))
        return cls(curve)

    @classmethod
    def from_leverage_ratio(cls, *, wheel: Sequence[float], leverage_ratio: Sequence[float]) -> LeverageCurve:
        """Curve through points of wheel travel over shaft travel.

        Parameters
        ----------
        wheel : wheel travel from full extension, starting at 0 and rising. [m]
        leverage_ratio : wheel travel over shaft travel, at each. [-]

        Raises
        ------
        GeometryError
            When the points run backwards, do not start at full extension, or a ratio is not above 0.
        """
        x, ratio = points("leverage ratio (wheel over shaft)", wheel, leverage_ratio)
        starts_extended("wheel travel", x)
        plausible(x, ratio)
        return cls(_integrated(x, 1 / ratio))

    @classmethod
    def from_motion_ratio(cls, *, wheel: Sequence[float], motion_ratio: Sequence[float]) -> LeverageCurve:
        """Curve through points of shaft travel over wheel travel.

        Parameters
        ----------
        wheel : wheel travel from full extension, starting at 0 and rising. [m]
        motion_ratio : shaft travel over wheel travel, at each. [-]

        Raises
        ------
        GeometryError
            When the points run backwards, do not start at full extension, or a ratio is not above 0.
        """
        x, ratio = points("motion ratio (shaft over wheel)", wheel, motion_ratio)
        starts_extended("wheel travel", x)
        with np.errstate(divide="ignore"):
            plausible(x, 1 / ratio)
        return cls(_integrated(x, ratio))

    @classmethod
    def constant(cls, *, travel: float, leverage_ratio: float = 1.0) -> LeverageCurve:
        """Same ratio all along the travel.

        Parameters
        ----------
        travel : wheel travel. [m]
        leverage_ratio : wheel travel over shaft travel. [-]
        """
        return cls.from_leverage_ratio(wheel=[0.0, travel], leverage_ratio=[leverage_ratio] * 2)

    @classmethod
    def fork(cls, *, travel: float, rake: float = 0.0) -> LeverageCurve:
        """Telescopic fork: the wheel moves with the shaft, and vertically by the cosine of the rake.

        Parameters
        ----------
        travel : wheel travel, vertical when a rake is given and along the fork when not. [m]
        rake : angle between the fork and the vertical; 0 counts travel along the fork. [rad]
        """
        if not 0 <= rake < math.pi / 3:
            raise GeometryError(
                f"got a rake of {math.degrees(rake):g} degrees from the vertical, expected 0 to 60. "
                "A head angle counted from the ground is 90 degrees less the rake."
            )
        return cls.constant(travel=travel, leverage_ratio=math.cos(rake))

    @property
    def wheel_travel_end(self) -> float:
        """All of the wheel's travel. [m]"""
        return float(self.shaft.x[-1])

    @property
    def shaft_travel_end(self) -> float:
        """All of the shaft's travel. [m]"""
        return float(self.shaft(self.wheel_travel_end))

    @property
    def mean_leverage_ratio(self) -> float:
        """All wheel travel over all shaft travel. [-]"""
        return self.wheel_travel_end / self.shaft_travel_end

    @overload
    def shaft_travel(self, *, wheel_travel: float) -> float: ...
    @overload
    def shaft_travel(self, *, wheel_travel: NDArray[np.float64]) -> NDArray[np.float64]: ...
    def shaft_travel(self, *, wheel_travel: ArrayLike) -> float | NDArray[np.float64]:
        """Shaft travel [m] at a wheel travel [m]."""
        return _plain(self.shaft(self._within(wheel_travel)))

    @overload
    def motion_ratio(self, *, wheel_travel: float) -> float: ...
    @overload
    def motion_ratio(self, *, wheel_travel: NDArray[np.float64]) -> NDArray[np.float64]: ...
    def motion_ratio(self, *, wheel_travel: ArrayLike) -> float | NDArray[np.float64]:
        """Shaft travel over wheel travel [-], as a slope, at a wheel travel [m]."""
        return _plain(self.shaft(self._within(wheel_travel), 1))

    @overload
    def leverage_ratio(self, *, wheel_travel: float) -> float: ...
    @overload
    def leverage_ratio(self, *, wheel_travel: NDArray[np.float64]) -> NDArray[np.float64]: ...
    def leverage_ratio(self, *, wheel_travel: ArrayLike) -> float | NDArray[np.float64]:
        """Wheel travel over shaft travel [-], as a slope, at a wheel travel [m]."""
        return _plain(1 / self.shaft(self._within(wheel_travel), 1))

    def wheel_travel(self, *, shaft_travel: float) -> float:
        """Wheel travel [m] at a shaft travel [m]."""
        slack = 1e-9 * self.shaft_travel_end
        if not -slack <= shaft_travel <= self.shaft_travel_end + slack:
            raise GeometryError(
                f"got a shaft travel of {shaft_travel * 1e3:g} mm, "
                f"expected 0 to {self.shaft_travel_end * 1e3:.4g} mm on this frame."
            )
        wanted = min(max(shaft_travel, 0.0), self.shaft_travel_end)
        root: float = brentq(lambda x: float(self.shaft(x)) - wanted, 0.0, self.wheel_travel_end, xtol=1e-15)
        return root

    def shaft_velocity(self, *, wheel_velocity: float, wheel_travel: float) -> float:
        """Shaft velocity [m/s] for a wheel velocity [m/s] at a wheel travel [m]."""
        return wheel_velocity * self.motion_ratio(wheel_travel=wheel_travel)

    def wheel_velocity(self, *, shaft_velocity: float, wheel_travel: float) -> float:
        """Wheel velocity [m/s] for a shaft velocity [m/s] at a wheel travel [m]."""
        return shaft_velocity / self.motion_ratio(wheel_travel=wheel_travel)

    def wheel_force(self, *, shaft_force: float, wheel_travel: float) -> float:
        """Force at the wheel [N] for a force at the shaft [N] at a wheel travel [m]."""
        return shaft_force * self.motion_ratio(wheel_travel=wheel_travel)

    def shaft_force(self, *, wheel_force: float, wheel_travel: float) -> float:
        """Force at the shaft [N] for a force at the wheel [N] at a wheel travel [m]."""
        return wheel_force / self.motion_ratio(wheel_travel=wheel_travel)

    def wheel_damping(self, *, shaft_damping: float, wheel_travel: float) -> float:
        """Damping coefficient at the wheel [N s/m] of one at the shaft [N s/m] at a wheel travel [m]."""
        return shaft_damping * self.motion_ratio(wheel_travel=wheel_travel) ** 2

    def wheel_rate(self, *, spring_rate: float, spring_force: float, wheel_travel: float) -> float:
        """Spring rate at the wheel. [N/m]

        Parameters
        ----------
        spring_rate : rate at the shaft. [N/m]
        spring_force : force at the shaft, which counts where the ratio changes. [N]
        wheel_travel : place in the travel. [m]
        """
        slope = float(self.shaft(self._within(wheel_travel), 2))
        return spring_rate * self.motion_ratio(wheel_travel=wheel_travel) ** 2 + spring_force * slope

    def _within(self, wheel_travel: ArrayLike) -> NDArray[np.float64]:
        travel = np.asarray(wheel_travel, dtype=float)
        slack = 1e-9 * self.wheel_travel_end
        if not np.all((travel >= -slack) & (travel <= self.wheel_travel_end + slack)):
            raise GeometryError(
                f"got a wheel travel of {_furthest(travel, self.wheel_travel_end) * 1e3:g} mm, "
                f"expected 0 to {self.wheel_travel_end * 1e3:g} mm on this frame."
            )
        inside: NDArray[np.float64] = np.clip(travel, 0.0, self.wheel_travel_end)
        return inside


def _plain(values: NDArray[np.float64]) -> float | NDArray[np.float64]:
    return float(values) if values.ndim == 0 else values


def _furthest(travel: NDArray[np.float64], end: float) -> float:
    flat = travel.ravel()
    return float(flat[np.argmax(np.where(np.isfinite(flat), np.abs(flat - end / 2), np.inf))])


def _integrated(x: NDArray[np.float64], motion_ratio: NDArray[np.float64]) -> PPoly:
    integral: PPoly = PchipInterpolator(x, motion_ratio).antiderivative()
    return integral
