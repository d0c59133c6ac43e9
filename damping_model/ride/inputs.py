"""What a ride does to a machine over time: the road under each wheel, the load on each end of the body."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from damping_model.errors import GeometryError

Floats = NDArray[np.float64]
Course = Callable[[Floats], Floats]
"""A quantity over time [s]."""

STEP: Final = 0.5e-3
"""Between two instants at which a road or a load is tabulated. [s]"""

MOST: Final = 400_000
"""Instants that are tabulated at most."""


def level(times: Floats) -> Floats:
    """A road without a bump, or no load."""
    return np.zeros_like(times)


@dataclass(frozen=True, slots=True)
class CornerInput:
    """What is done to one corner.

    Parameters
    ----------
    road : height of the road under the wheel over time, 0 at the start. [m]
    load : on the body over the corner, upwards positive, beyond its weight. [N]
    on_wheel : the same on the wheel: what a linkage takes past spring and damper, as with anti-squat. [N]
    """

    road: Course = level
    load: Course = level
    on_wheel: Course = level

    def rows(self, duration: float) -> Floats:
        """Road and loads over time, each above its slope (6, instants).

        Raises
        ------
        GeometryError
            When the time is no time, or a road or load is not finite.
        """
        return _rows(self, duration)


@lru_cache(maxsize=64)
def _rows(asked: CornerInput, duration: float) -> Floats:
    """Kept, since one road is ridden with many dampers."""
    if not (0 < duration <= MOST * STEP):
        raise GeometryError(
            f"got a ride of {duration:g} s, expected more than 0 and at most {MOST * STEP:g}."
        )
    times: Floats = STEP * np.arange(int(np.ceil(duration / STEP)) + 2, dtype=np.float64)
    courses = [course(times) for course in (asked.road, asked.load, asked.on_wheel)]
    if not np.isfinite(courses).all():
        raise GeometryError("got a road or a load that is not a number, expected finite ones throughout.")
    rows = np.array([row for course in courses for row in (course, CubicSpline(times, course)(times, 1))])
    rows.flags.writeable = False
    return rows
