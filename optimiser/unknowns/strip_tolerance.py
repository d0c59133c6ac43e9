"""How far a shim may be from its nominal thickness: the limits of the strip that it is punched from."""

from __future__ import annotations

from bisect import bisect_right
from enum import Enum
from typing import Final

from damping_model.errors import GeometryError
from damping_model.units import MICROMETRE

ROUNDING: Final = 1e-9
"""Thicknesses closer than this are the same. [m]"""


class StripClass(Enum):
    """The tolerance classes of narrow cold-rolled strip."""

    NORMAL = "normal"
    FINE = "fine"
    PRECISION = "precision"


_FROM: Final = (50, 100, 150, 200, 250, 300, 400, 500, 600, 800)
_UP_TO: Final = 1000
"""Rows of the standard. [um]"""

_BELOW_A_TENTH: Final = {StripClass.NORMAL: 0.10, StripClass.FINE: 0.06, StripClass.PRECISION: 0.04}
_LIMITS: Final = {
    StripClass.NORMAL: (10, 15, 15, 17, 20, 25, 30, 30, 30),
    StripClass.FINE: (8, 10, 12, 12, 15, 20, 20, 25, 25),
    StripClass.PRECISION: (6, 8, 8, 9, 10, 12, 14, 15, 18),
}


def has_limit(*, thickness: float) -> bool:
    """Whether the standard has a row for a nominal thickness [m]."""
    return _FROM[0] <= (thickness + ROUNDING) / MICROMETRE < _UP_TO


def thickness_limit(*, thickness: float, strip: StripClass) -> float:
    """Largest difference of a shim's thickness from the nominal one, up or down. [m]

    Parameters
    ----------
    thickness : nominal. [m]
    strip : class of the strip.

    Raises
    ------
    GeometryError
        When the standard has no row for the thickness.

    References
    ----------
    .. [1] EN 10258:1997, cold-rolled stainless steel narrow strip, and ISO 9445-1, the same figures: widths
       under 125 mm, read at bssa.org.uk.

    Examples
    --------
    A shim of 0.10 mm from precision strip has 0.094 to 0.106 mm:

    >>> round(thickness_limit(thickness=0.10e-3, strip=StripClass.PRECISION) * 1e6, 6)
    6.0
    """
    nominal = (thickness + ROUNDING) / MICROMETRE
    row = bisect_right(_FROM, nominal) - 1
    if not has_limit(thickness=thickness):
        raise GeometryError(
            f"got a shim of {1e3 * thickness:g} mm, expected {_FROM[0] / 1e3:g} to under {_UP_TO / 1e3:g}: "
            "the standard has no limits for others."
        )
    if row == 0:
        return _BELOW_A_TENTH[strip] * thickness
    return _LIMITS[strip][row - 1] * MICROMETRE
