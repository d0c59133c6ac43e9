"""The model held against reference deflections, case by case."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import median
from time import perf_counter
from typing import Final

import numpy as np

from damping_model.errors import ModelError
from damping_model.stack.lift import lift_curve
from damping_model.stack.packs import pack_stack
from damping_model.stack.reference_cases import ReferenceCase, ReferenceFileError
from damping_model.stack.warm_up import warm_up
from damping_model.units import MICROMETRE

TOLERANCE: Final = 0.012
"""Share of the reference lift that a point may be off. [-]"""

FLOOR: Final = 1 * MICROMETRE
"""Difference in lift that always passes: references are no better. [m]"""


@dataclass(frozen=True, slots=True)
class PointError:
    """The model against one reference point.

    Parameters
    ----------
    pressure : [Pa]
    reference, lift : at the seat. [m]
    error : of the lift, as a share of the reference. [-]
    edge_error : of the lift at the rim, where given. [-]
    passed : within the tolerance, or within one micrometre.
    """

    pressure: float
    reference: float
    lift: float
    error: float
    edge_error: float | None
    passed: bool


@dataclass(frozen=True, slots=True)
class CaseResult:
    """The model against one case.

    Parameters
    ----------
    name : the case's id.
    points : one for each pressure.
    model_time : what the model took for all pressures, compiled. [s]
    wall_time : what the reference took, where given. [s]
    """

    name: str
    points: tuple[PointError, ...]
    model_time: float
    wall_time: float | None

    @property
    def worst(self) -> float:
        """Greatest share that a point is off. [-]"""
        return max(abs(point.error) for point in self.points)

    @property
    def passed(self) -> bool:
        """Whether every point passed."""
        return all(point.passed for point in self.points)


@dataclass(frozen=True, slots=True)
class Verification:
    """The model against a whole file.

    Parameters
    ----------
    cases : in the order of the file.
    tolerance : share that a point may be off. [-]
    """

    cases: tuple[CaseResult, ...]
    tolerance: float

    @property
    def median_worst(self) -> float:
        """Median over the cases of the worst point. [-]"""
        return median(case.worst for case in self.cases)

    @property
    def worst(self) -> float:
        """Greatest share that any point is off. [-]"""
        return max(case.worst for case in self.cases)

    @property
    def passed(self) -> bool:
        """Whether every point of every case passed."""
        return all(case.passed for case in self.cases)


def verify(cases: tuple[ReferenceCase, ...], *, tolerance: float = TOLERANCE) -> Verification:
    """Run every case and compare.

    Parameters
    ----------
    cases : from :func:`reference_cases`.
    tolerance : share of the reference lift that a point may be off; one micrometre always passes. [-]

    Raises
    ------
    ModelError
        When a case cannot be solved; the message names it.
    """
    if not (math.isfinite(tolerance) and tolerance >= 0):
        raise ReferenceFileError(
            f"got a tolerance of {tolerance:g}, expected a share of 0 or more, such as 0.012."
        )
    warm_up()
    return Verification(tuple(_compare(case, tolerance) for case in cases), tolerance)


def _compare(case: ReferenceCase, tolerance: float) -> CaseResult:
    pressures = np.array([point.pressure for point in case.points])
    begin = perf_counter()
    try:
        plates = pack_stack(case.stack, clamp_radius=case.seat.clamp_radius, steel=case.steel)
        curve = lift_curve(plates, seat=case.seat, load=case.load, pressures=pressures)
    except ModelError as error:
        raise type(error)(f"case {case.name}: {error}") from error
    took = perf_counter() - begin
    points = []
    for point, lift, edge in zip(case.points, curve.seat_lift, curve.edge_lift, strict=True):
        off = float(lift) - point.seat_lift
        points.append(
            PointError(
                point.pressure,
                point.seat_lift,
                float(lift),
                off / point.seat_lift,
                float(edge) / point.edge_lift - 1 if point.edge_lift else None,
                abs(off) <= max(tolerance * point.seat_lift, FLOOR),
            )
        )
    return CaseResult(case.name, tuple(points), took, case.wall_time)
