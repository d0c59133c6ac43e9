"""A stack's lift against face pressure, as a table that the flow kernel reads.

The table holds the compliance c = lift / pressure of equation (29) at pressures evenly spaced in their
logarithm: c is constant for a linear stack, so that interpolation has little left to do. A second stack of
which few lifts are known is expressed by the first: by the pressure at which that one lifts as much, equation
(30), where the logarithm of the two pressures' ratio lies on straight lines between those few. If it lifts
less at each of them it lifts less everywhere, exactly. If it is the first stack made stiffer throughout, the
ratio is one number; and preload and closing gaps, which come at a lift, come at that lift.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from damping_model.stack.friction import StackFriction, friction_width
from damping_model.stack.lift import FacePressure, Seat, lift_curve
from damping_model.stack.packs import PackedStack

Floats = NDArray[np.float64]

LOWEST: Final = 1e3
"""First pressure of a table; below it the compliance follows its last slope. [Pa]"""

PER_DECADE: Final = 32
"""Pressures in a decade of a table."""

KEPT_TABLES: Final = 1024
"""Tables that are kept, of 2 kB each: a search asks again about the stacks that it lists. [-]"""

TABLE_STEP_END: Final = 1e-6
"""Last Newton step of a table's lifts, as a share of the lift: wherever a part of a table begins, it has the
entries of the whole one to a ten-millionth. [-]"""

FIRST_TOP: Final = 1e7
"""Highest pressure of a table unless more is needed: 100 bar. [Pa]"""


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
    def top(self) -> float:
        """Highest pressure. [Pa]"""
        return math.exp(self.first + self.step * (self.compliance.size - 1))

    @property
    def as_whole(self) -> tuple[float, float]:
        """Lowest and highest pressure between which a part of a table gives what the whole one gives. [Pa]"""
        begins = self.first - math.log(LOWEST) < self.step / 2
        return 0.0 if begins else math.exp(self.first + self.step), self.top / math.exp(self.step)


NO_KNOTS: Final = np.zeros((2, 1))
"""Knots that shift nothing, for the table's own stack: logarithms of pressure, and the shift at each."""


def straight_table(*, compliance: float) -> LiftTable:
    """Table of a stack that lifts in proportion to pressure. [m/Pa]"""
    return LiftTable(first=math.log(LOWEST), step=1.0, compliance=np.full(2, compliance), slope=np.zeros(2))


@lru_cache(maxsize=KEPT_TABLES)
def lift_table(
    packed: PackedStack,
    *,
    seat: Seat,
    load: FacePressure,
    top: float = FIRST_TOP,
    bottom: float = LOWEST,
    per_decade: int = PER_DECADE,
    friction: StackFriction | None = None,
) -> LiftTable:
    """Table of a stack from at most ``bottom``, not below :data:`LOWEST`, to at least ``top`` [Pa].

    With friction between shims, of the branch that it names. A part of the table has the entries of the whole
    one, but for the slopes at its ends.
    """
    step = math.log(10) / per_decade
    begin = math.floor(math.log(bottom / LOWEST) / step + 1e-9)
    end = math.ceil(math.log(top / LOWEST) / step - 1e-9)
    logarithms = math.log(LOWEST) + step * np.arange(begin, end + 1)
    pressures = np.exp(logarithms)
    curve = lift_curve(packed, seat=seat, load=load, pressures=pressures, tolerance=TABLE_STEP_END)
    lift = curve.seat_lift
    if friction is not None:
        width = friction_width(packed, curve, seat=seat, load=load, coefficient=friction.coefficient)
        lift = width.rising if friction.opening else width.falling
    compliance = lift / pressures
    slope = PchipInterpolator(logarithms, compliance).derivative()(logarithms)
    return LiftTable(first=float(logarithms[0]), step=step, compliance=compliance, slope=np.asarray(slope))


def lifts_in_table(
    packed: PackedStack, *, seat: Seat, load: FacePressure, pressures: Floats
) -> list[tuple[float, float]]:
    """Lifts that a stack's table gives, and their slopes, from the entries that they lie between alone.

    Parameters
    ----------
    packed, seat, load : the stack and its place, as for :func:`lift_table`.
    pressures : above 0 (pressures,). [Pa]

    Returns
    -------
    At each pressure the lift and its change with pressure. [m, m/Pa]
    """
    step = math.log(10) / PER_DECADE
    places = (np.log(pressures) - math.log(LOWEST)) / step
    below = np.maximum(np.floor(places), 0.0).astype(int)
    needed = np.unique(below[:, None] + np.arange(-1, 3))
    knots = np.exp(math.log(LOWEST) + step * needed)
    curve = lift_curve(packed, seat=seat, load=load, pressures=knots)
    compliances = dict(zip(needed.tolist(), (curve.seat_lift / knots).tolist(), strict=True))
    return [
        _between([compliances[k + entry] for entry in range(-1, 3)], max(place - k, 0.0), pressure, step)
        for k, place, pressure in zip(below.tolist(), places.tolist(), pressures.tolist(), strict=True)
    ]


def _between(entries: list[float], part: float, pressure: float, step: float) -> tuple[float, float]:
    """Lift and slope so far on from the second of four compliances to the third."""
    first, low, high, last = entries
    starts, ends = _pchip_rise(low - first, high - low), _pchip_rise(high - low, last - high)
    rest = 1 - part
    compliance = (
        low * (1 + 2 * part) * rest**2
        + high * part**2 * (3 - 2 * part)
        + starts * part * rest**2
        - ends * part**2 * rest
    )
    turn = 6 * part * rest * (high - low) + starts * rest * (1 - 3 * part) + ends * part * (3 * part - 2)
    return compliance * pressure, compliance + turn / step


def _pchip_rise(before: float, after: float) -> float:
    """Slope at an entry between two equal steps, as scipy's PchipInterpolator has it: the harmonic mean."""
    return 2 * before * after / (before + after) if before * after > 0 else 0.0
