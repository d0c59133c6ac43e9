"""Damper oil: viscosity and density against temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from scipy.optimize import brentq

from damping_model.errors import GeometryError
from damping_model.units import CENTISTOKES, ZERO_CELSIUS

ISO_VISCOSITY_GRADES: Final = (2.2, 3.2, 4.6, 6.8, 10, 15, 22, 32, 46, 68, 100, 150)
"""Mid-point kinematic viscosities at 40 °C of the grades VG 2 to VG 150, ISO 3448. [mm^2/s]"""

COLDEST: Final = 200.0
"""Temperatures below this are a slip of the unit. [K]"""

HOTTEST: Final = 500.0
"""Temperatures above this are a slip of the unit. [K]"""

_WARM: Final = ZERO_CELSIUS + 40
_HOT: Final = ZERO_CELSIUS + 100
_INDEX_100_AT_100_C: Final = {
    2.2: 0.995, 3.2: 1.287, 4.6: 1.629, 6.8: 2.081, 10: 2.659, 15: 3.410, 22: 4.295, 32: 5.362, 46: 6.760,
    68: 8.731, 100: 11.384, 150: 15.02,
}  # fmt: skip

REFERENCE: Final = ZERO_CELSIUS + 15
"""Temperature that density is stated at. [K]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class OilState:
    """Oil at one temperature.

    Parameters
    ----------
    density : [kg/m^3]
    dynamic_viscosity : [Pa s]
    vapour_pressure : absolute pressure that it may not fall under. [Pa]
    """

    density: float
    dynamic_viscosity: float
    vapour_pressure: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Oil:
    r"""An oil known by its viscosity at two temperatures and its density at 15 °C.

    Parameters
    ----------
    name : what the can says.
    viscosity_points : two pairs of temperature [K] and kinematic viscosity [m^2/s], lower at the hotter one.
    density_15 : density at 15 °C. [kg/m^3]
    vapour_pressure : absolute; 1 kPa is common practice for mineral oil, no source. [Pa]

    Raises
    ------
    GeometryError
        When the points contradict each other or a value is out of the range of oils.

    Notes
    -----
    Viscosity by the two-constant line of [1]_, equation (33), :math:`\lg\lg Z = A - B \lg T` with
    :math:`Z = \nu + 0.7 + e^{-1.47 - 1.84\nu - 0.51\nu^2}` and :math:`\nu` in mm²/s. Density by the volume
    correction for lubricating oils of [2]_, equation (34),
    :math:`\rho = \rho_{15} e^{-\alpha\Delta T(1 + 0.8\alpha\Delta T)}`, :math:`\alpha = 0.6278/\rho_{15}` per
    kelvin; its constants were not checked against the printed standard.

    References
    ----------
    .. [1] ASTM D341, *Viscosity-temperature charts for liquid petroleum products*.
    .. [2] ASTM D1250 / API MPMS chapter 11.1, table 54D.

    Examples
    --------
    From a cold start to a long descent an oil of 15 mm²/s at 40 °C loses nine tenths of its viscosity:

    >>> from damping_model.units import kelvin
    >>> points = ((kelvin(celsius=40), 15e-6), (kelvin(celsius=100), 3.41e-6))
    >>> oil = Oil(name="light oil", viscosity_points=points)
    >>> [round(oil.kinematic_viscosity(temperature=kelvin(celsius=t)) * 1e6, 1) for t in (0, 20, 40, 60)]
    [102.0, 33.8, 15.0, 8.1]
    >>> oil.density(temperature=kelvin(celsius=40))  # kg/m³
    844.2
    """

    name: str
    viscosity_points: tuple[tuple[float, float], tuple[float, float]]
    density_15: float = 860.0
    vapour_pressure: float = 1000.0

    def __post_init__(self) -> None:
        """Refuse what is no oil."""
        (cold, thick), (hot, thin) = sorted(self.viscosity_points)
        for temperature in (cold, hot):
            _check_temperature(temperature)
        if not (cold < hot and 2e-7 <= thin < thick < 0.1):
            raise GeometryError(
                f"oil '{self.name}': got {thick / CENTISTOKES:g} mm²/s at {cold - ZERO_CELSIUS:g} °C and "
                f"{thin / CENTISTOKES:g} mm²/s at {hot - ZERO_CELSIUS:g} °C, expected two temperatures and a "
                "lower viscosity at the hotter one, 0.2 mm²/s or more."
            )
        if not 500 < self.density_15 < 2000:
            raise GeometryError(
                f"oil '{self.name}': got a density of {self.density_15:g} kg/m³, expected 700 to 1100."
            )
        if not 0 <= self.vapour_pressure < 1e5:
            raise GeometryError(
                f"oil '{self.name}': got a vapour pressure of {self.vapour_pressure:g} Pa, expected 0 to 1e5."
            )

    def kinematic_viscosity(self, *, temperature: float) -> float:
        """Kinematic viscosity at an absolute temperature [K]. [m^2/s]"""
        _check_temperature(temperature)
        (t1, nu1), (t2, nu2) = self.viscosity_points
        y1, y2 = _walther(nu1 / CENTISTOKES), _walther(nu2 / CENTISTOKES)
        slope = (y1 - y2) / (math.log10(t2) - math.log10(t1))
        return _inverse_walther(y1 + slope * (math.log10(t1) - math.log10(temperature))) * CENTISTOKES

    def density(self, *, temperature: float) -> float:
        """Density at an absolute temperature [K]. [kg/m^3]"""
        _check_temperature(temperature)
        expansion = 0.6278 / self.density_15 * (temperature - REFERENCE)
        return self.density_15 * math.exp(-expansion * (1 + 0.8 * expansion))

    def at(self, *, temperature: float) -> OilState:
        """State of the oil at an absolute temperature [K]."""
        density = self.density(temperature=temperature)
        return OilState(
            density=density,
            dynamic_viscosity=density * self.kinematic_viscosity(temperature=temperature),
            vapour_pressure=self.vapour_pressure,
        )


def iso_vg(grade: float, *, name: str = "", density_15: float = 860.0) -> Oil:
    """Oil of an ISO 3448 viscosity grade with a viscosity index of 100.

    Parameters
    ----------
    grade : 2, 3, 5, 7, 10, 15, 22, 32, 46, 68, 100 or 150.
    name : what the can says; the grade unless given.
    density_15 : density at 15 °C. [kg/m^3]

    Raises
    ------
    GeometryError
        When the grade is not one of those.

    Notes
    -----
    From VG 7 up, the viscosity at 100 °C is the one that ASTM D2270 gives an index of 100. That standard
    stops at 2 mm²/s at 100 °C: thinner grades take the slope of VG 7 in the Walther line, our choice.

    Examples
    --------
    >>> oil = iso_vg(15)
    >>> oil.name
    'ISO VG 15'
    >>> oil.at(temperature=313.15).dynamic_viscosity * 1e3  # mPa s at 40 °C
    12.66
    """
    middle = {round(nu): nu for nu in ISO_VISCOSITY_GRADES}
    if grade not in middle:
        raise GeometryError(
            f"got ISO VG {grade:g}, expected one of {', '.join(map(str, middle))}. Or give two viscosities."
        )
    nu40 = middle[round(grade)]
    return Oil(
        name=name or f"ISO VG {grade:g}",
        viscosity_points=((_WARM, nu40 * CENTISTOKES), (_HOT, _INDEX_100_AT_100_C[nu40] * CENTISTOKES)),
        density_15=density_15,
    )


def _check_temperature(temperature: float) -> None:
    if not COLDEST <= temperature <= HOTTEST:
        raise GeometryError(
            f"got an oil temperature of {temperature:g} K ({temperature - ZERO_CELSIUS:g} °C), expected "
            f"{COLDEST - ZERO_CELSIUS:.0f} to {HOTTEST - ZERO_CELSIUS:.0f} °C. Is it in °C instead of K?"
        )


def _walther(nu: float) -> float:
    """The ordinate lg lg Z of equation (33) for a kinematic viscosity in mm^2/s."""
    return math.log10(math.log10(nu + 0.7 + math.exp(-1.47 - 1.84 * nu - 0.51 * nu * nu)))


def _inverse_walther(ordinate: float) -> float:
    """Kinematic viscosity in mm^2/s of an ordinate; the standard's own inverse fit is only good to 1e-4."""
    logarithm = brentq(lambda x: _walther(math.exp(x)) - ordinate, math.log(0.13), math.log(1e9), xtol=1e-14)
    return math.exp(float(logarithm))
