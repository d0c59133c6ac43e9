"""What runs on a dyno say, as one list of logarithms with all that they share in error: the value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.dyno.run import DynoPoint, DynoRun, SplitOff

Floats = NDArray[np.float64]

RUN_TO_RUN: Final = 0.01
"""Standard deviation of all damping of a run against the same run again: up to 0.8 % was measured. [-]"""

READ_TEMPERATURE: Final = 2.0
"""Oil against the temperature that a run's file tells, read on the body; common practice, no source. [K]"""

UNREAD_TEMPERATURE: Final = 5.0
"""Oil against the damper file's temperature where a run's file tells none; likewise. [K]"""


@dataclass(frozen=True, slots=True)
class UnusedPoints:
    """Points of a run that a fit does not use.

    Parameters
    ----------
    run : its name.
    points : how many.
    why : in words, to go on with 'because'.
    """

    run: str
    points: int
    why: str


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Stretch:
    """The points of one run that are used.

    Parameters
    ----------
    run : the run, with gas and friction split off.
    points : those of its points.
    damping : of the oil alone at each, against the motion, above 0 (points,). [N]
    spread : standard deviation of its logarithm, of each point by itself (points,). [-]
    shared : what gas and friction, one deviation off, do to the logarithm of each point (2, points). [-]
    """

    run: DynoRun
    points: tuple[DynoPoint, ...]
    damping: Floats
    spread: Floats
    shared: Floats

    @property
    def temperature_off(self) -> float:
        """Standard deviation of the oil's temperature about what is taken for it. [K]"""
        return UNREAD_TEMPERATURE if self.run.temperature is None else READ_TEMPERATURE

    @property
    def velocities(self) -> Floats:
        """Of the points, positive in compression (points,). [m/s]"""
        return np.array([point.velocity for point in self.points])


@dataclass(frozen=True, slots=True, kw_only=True)
class Direct:
    """A figure of the damper that a run shows by itself.

    Parameters
    ----------
    figure : its name in the damper.
    logarithm : of what the run shows over what the damper's file says. [-]
    spread : standard deviation of the logarithm. [-]
    """

    figure: str
    logarithm: float
    spread: float


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Sample:
    """All that is fitted to.

    Parameters
    ----------
    stretches : of the runs, in their order.
    direct : what they show without a model.
    left_out : what is not used, and why.
    """

    stretches: tuple[Stretch, ...]
    direct: tuple[Direct, ...]
    left_out: tuple[UnusedPoints, ...]

    @property
    def velocities(self) -> Floats:
        """Of all points (points,). [m/s]"""
        return np.concatenate([stretch.velocities for stretch in self.stretches])

    @property
    def logarithms(self) -> Floats:
        """Logarithms of the damping at all points (points,). [ln N]"""
        whole = np.concatenate([stretch.damping for stretch in self.stretches])
        return np.asarray(np.log(whole), dtype=np.float64)

    def covariance(self, warmth: Floats) -> Floats:
        """Of the errors of those logarithms (points, points). [-]

        Parameters
        ----------
        warmth : change of each logarithm by the temperature of the oil (points,). [1/K]
        """
        found, first = np.zeros((warmth.size, warmth.size)), 0
        common: dict[SplitOff | None, Floats] = {}
        for stretch in self.stretches:
            own = slice(first, first + len(stretch.points))
            warm = stretch.temperature_off * warmth[own]
            found[own, own] = np.diag(stretch.spread**2) + RUN_TO_RUN**2 + np.outer(warm, warm)
            # runs of a session share what one slow run of it told of gas and friction
            for split, row in zip((stretch.run.gas, stretch.run.friction), stretch.shared, strict=True):
                common.setdefault(split, np.zeros(warmth.size))[own] += row
            first = own.stop
        for row in common.values():
            found += np.outer(row, row)
        return found
