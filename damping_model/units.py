"""Conversions at the border: everything inside the packages is SI, everything people read is not.

This is the only module that converts. A name reads as ``value_in_unit = unit_from_si(value)``.
"""

from __future__ import annotations

from typing import Final

MILLIMETRE: Final = 1e-3
"""One millimetre. [m]"""

MICROMETRE: Final = 1e-6
"""One micrometre. [m]"""

SQUARE_MILLIMETRE: Final = 1e-6
"""One square millimetre. [m^2]"""

BAR: Final = 1e5
"""One bar. [Pa]"""

MEGAPASCAL: Final = 1e6
"""One megapascal. [Pa]"""

CENTISTOKES: Final = 1e-6
"""One square millimetre a second, the unit that oil is sold by. [m^2/s]"""

INCH: Final = 0.0254
"""One inch, exactly. [m]"""

POUND_FORCE: Final = 4.4482216152605
"""One pound-force: 0.45359237 kg at standard gravity, exactly. [N]"""

POUND: Final = 0.45359237
"""One pound of mass, exactly. [kg]"""

PSI: Final = POUND_FORCE / INCH**2
"""One pound-force a square inch. [Pa]"""

ZERO_CELSIUS: Final = 273.15
"""0 degrees Celsius. [K]"""

STANDARD_GRAVITY: Final = 9.80665
"""Standard acceleration of free fall, exactly. [m/s^2]"""


def kelvin(*, celsius: float) -> float:
    """Absolute temperature [K] of a temperature in degrees Celsius.

    >>> kelvin(celsius=40)
    313.15
    """
    return celsius + ZERO_CELSIUS


def celsius(*, kelvin: float) -> float:
    """Temperature in degrees Celsius of an absolute temperature [K].

    >>> celsius(kelvin=313.15)
    40.0
    """
    return kelvin - ZERO_CELSIUS
