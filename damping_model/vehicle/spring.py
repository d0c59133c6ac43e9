"""Springs at the shaft: coil and air, their force and rate along the stroke."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final, Protocol

from damping_model.errors import GeometryError

ATMOSPHERE: Final = 101_325.0
"""Standard atmosphere, exactly. [Pa]"""


class Spring(Protocol):
    """What pushes the shaft out."""

    def force(self, *, shaft_travel: float) -> float:
        """Force at a shaft travel. [N]"""
        ...

    def rate(self, *, shaft_travel: float) -> float:
        """Slope of the force at a shaft travel. [N/m]"""
        ...


@dataclass(frozen=True, slots=True)
class CoilSpring:
    """A straight spring, held shorter than it would be by its preload.

    Parameters
    ----------
    stiffness : force per length. [N/m]
    preload : how much shorter it is at full extension than on the bench. [m]

    Notes
    -----
    Hooke's law: :math:`F = k (s + s_0)`.
    """

    stiffness: float
    preload: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what is no spring."""
        if not (math.isfinite(self.stiffness) and self.stiffness > 0 and 0 <= self.preload < math.inf):
            raise GeometryError(
                f"got a spring of {self.stiffness / 1e3:g} N/mm preloaded by {self.preload * 1e3:g} mm, "
                "expected a rate above 0 and a preload of 0 or more."
            )

    def force(self, *, shaft_travel: float) -> float:
        """Force at a shaft travel [m]. [N]"""
        return self.stiffness * (shaft_travel + self.preload)

    def rate(self, *, shaft_travel: float) -> float:  # noqa: ARG002 (a straight spring is alike everywhere)
        """Slope of the force. [N/m]"""
        return self.stiffness


@dataclass(frozen=True, slots=True)
class AirSpring:
    r"""Air under a piston, with an optional negative chamber filled to the same pressure at full extension.

    Parameters
    ----------
    pressure : gauge pressure at full extension. [Pa]
    area : piston area. [m^2]
    volume : positive chamber at full extension. [m^3]
    negative_volume : negative chamber at full extension; 0 for none. [m^3]
    exponent : 1 for slow movement at even temperature, 1.4 for movement too quick to give heat away. [-]

    Notes
    -----
    Ideal gas, :math:`p V^n` constant, p absolute (any thermodynamics text):

    .. math:: F = A p_0 \left[\left(\frac{V}{V - A s}\right)^n
              - \left(\frac{V_n}{V_n + A s}\right)^n\right]

    and with no negative chamber the atmosphere takes the second term's place, :math:`F = A (p - p_a)`. So
    with a negative chamber the force goes with the *absolute* pressure.
    """

    pressure: float
    area: float
    volume: float
    negative_volume: float = 0.0
    exponent: float = 1.0

    def __post_init__(self) -> None:
        """Refuse chambers without air."""
        values = (self.pressure, self.area, self.volume)
        if not all(math.isfinite(value) and value > 0 for value in values) or self.negative_volume < 0:
            raise GeometryError(
                f"got an air spring of {self.pressure / 1e5:g} bar, {self.area * 1e6:g} mm^2 and "
                f"{self.volume * 1e6:g} cm^3, expected each above 0."
            )
        if not 1 <= self.exponent <= 1.67:
            raise GeometryError(f"got a gas exponent of {self.exponent:g}, expected 1 to 1.67.")

    def force(self, *, shaft_travel: float) -> float:
        """Force at a shaft travel [m]. [N]"""
        swept = self._swept(shaft_travel)
        pushing = self._absolute * math.pow(self.volume / (self.volume - swept), self.exponent)
        return self.area * (pushing - self._behind(swept))

    def rate(self, *, shaft_travel: float) -> float:
        """Slope of the force. [N/m]"""
        swept, n = self._swept(shaft_travel), self.exponent
        left = self.volume - swept
        slope = self._absolute * math.pow(self.volume / left, n) * n / left
        if self.negative_volume:
            slope += self._behind(swept) * n / (self.negative_volume + swept)
        return self.area**2 * slope

    def at_pressure(self, pressure: float) -> AirSpring:
        """The same spring at another gauge pressure [Pa]."""
        return replace(self, pressure=pressure)

    @property
    def _absolute(self) -> float:
        return self.pressure + ATMOSPHERE

    def _behind(self, swept: float) -> float:
        if not self.negative_volume:
            return ATMOSPHERE
        return self._absolute * math.pow(self.negative_volume / (self.negative_volume + swept), self.exponent)

    def _swept(self, shaft_travel: float) -> float:
        swept = self.area * shaft_travel
        if not 0 <= swept < self.volume:
            raise GeometryError(
                f"got a shaft travel of {shaft_travel * 1e3:g} mm, expected 0 to less than "
                f"{self.volume / self.area * 1e3:.4g} mm, where the air would have no room left."
            )
        return swept
