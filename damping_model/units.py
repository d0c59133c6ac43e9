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

POUND_MASS: Final = 0.45359237
"""One pound, exactly. [kg]"""

POUND_FORCE: Final = 4.4482216152605
"""One pound-force: 0.45359237 kg at standard gravity, exactly. [N]"""

POUND_PER_SQUARE_INCH: Final = POUND_FORCE / INCH**2
"""One pound-force a square inch. [Pa]"""

ZERO_CELSIUS: Final = 273.15
"""0 degrees Celsius. [K]"""

STANDARD_GRAVITY: Final = 9.80665
"""Standard acceleration of free fall, exactly. [m/s^2]"""


LENGTH_UNITS: Final = {
    "mm": MILLIMETRE,
    "cm": 10 * MILLIMETRE,
    "m": 1.0,
    "in": INCH,
    "inch": INCH,
    "inches": INCH,
    '"': INCH,
}
"""Every way that people write a unit of length. [m]"""

MASS_UNITS: Final = {
    "kg": 1.0,
    "kilo": 1.0,
    "kilos": 1.0,
    "lb": POUND_MASS,
    "lbs": POUND_MASS,
    "pounds": POUND_MASS,
}
"""The same of mass. [kg]"""

PRESSURE_UNITS: Final = {"bar": BAR, "psi": POUND_PER_SQUARE_INCH, "kpa": 1e3, "mpa": MEGAPASCAL}
"""The same of pressure. [Pa]"""

FORCE_UNITS: Final = {
    "n": 1.0,
    "kn": 1e3,
    "dan": 10.0,
    "lbf": POUND_FORCE,
    "lb": POUND_FORCE,
    "lbs": POUND_FORCE,
    "kgf": STANDARD_GRAVITY,
    "kg": STANDARD_GRAVITY,
    "kp": STANDARD_GRAVITY,
}
"""The same of force; a scale's kilograms and pounds are meant as forces. [N]"""

VELOCITY_UNITS: Final = {
    "m/s": 1.0,
    "mm/s": MILLIMETRE,
    "cm/s": 10 * MILLIMETRE,
    "in/s": INCH,
    "inch/s": INCH,
    "ips": INCH,
}
"""The same of velocity. [m/s]"""

TIME_UNITS: Final = {"s": 1.0, "sec": 1.0, "seconds": 1.0, "ms": 1e-3, "msec": 1e-3, "us": 1e-6, "µs": 1e-6}
"""The same of time. [s]"""

STIFFNESS_UNITS: Final = {
    "n/mm": 1 / MILLIMETRE,
    "kg/mm": STANDARD_GRAVITY / MILLIMETRE,
    "lb/in": POUND_FORCE / INCH,
    "lbs/in": POUND_FORCE / INCH,
}
"""The same of a spring's stiffness. [N/m]"""


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
