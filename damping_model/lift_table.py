"""A stack's lift against face pressure, as a table that the flow kernel reads.

The table holds the compliance c = lift / pressure at pressures evenly spaced in their logarithm: c is
constant for a linear stack, so that interpolation has little left to do. A second stack at few pressures is
told by the logarithm of its ratio to the first, on straight lines between these pressures: if it lifts less
at each of them it lifts less everywhere, exactly, and close to the first stack it is as accurate as the
full table.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from damping_model.lift import FacePressure, Seat, lift_curve
from damping_model.packs import PackedStack

Floats = NDArray[np.float64]

LOWEST: Final = 1e3
"""First pressure of a table; below it the compliance follows its last slope. [Pa]"""

PER_DECADE: Final = 32
"""Pressures in a decade of a table."""

FIRST_TOP: Final = 1e7
"""Highest pressure of a table unless more is needed: 100 bar. [Pa]"""

FLOOR_SHARE: Final = 1e-3
"""Compliances below this share of the largest are not told apart: a shut stack has a logarithm. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LiftTable:
    """Compliance of a stack at evenly spaced logarithms of pressure.

    Parameters
    ----------
    first : logarithm of the first pressure [Pa].
    step : between logarithms.
    compliance : lift over pressure (pressures,). [m/Pa]
    slope : of the compliance against the logarithm (pressures,). [m/Pa]
    """

    first: float
    step: float
    compliance: Floats
    slope: Floats

    @property
    def floor(self) -> float:
        """Least compliance told apart from none. [m/Pa]"""
        return float(FLOOR_SHARE * self.compliance.max())

    @property
    def top(self) -> float:
        """Highest pressure. [Pa]"""
        return math.exp(self.first + self.step * (self.compliance.size - 1))


NO_KNOTS: Final = np.zeros((2, 1))
"""No other stack than the table's own: logarithms of pressure and of the ratio to it."""


@lru_cache(maxsize=64)
def lift_table(
    packed: PackedStack,
    *,
    seat: Seat,
    load: FacePressure,
    top: float = FIRST_TOP,
    per_decade: int = PER_DECADE,
) -> LiftTable:
    """Table of a stack from :data:`LOWEST` to at least ``top`` [Pa]."""
    step = math.log(10) / per_decade
    count = math.ceil(math.log(top / LOWEST) / step - 1e-9) + 1
    logarithms = math.log(LOWEST) + step * np.arange(count)
    pressures = np.exp(logarithms)
    curve = lift_curve(packed, seat=seat, load=load, pressures=pressures)
    compliance = curve.seat_lift / pressures
    slope = PchipInterpolator(logarithms, compliance).derivative()(logarithms)
    return LiftTable(first=float(logarithms[0]), step=step, compliance=compliance, slope=np.asarray(slope))
