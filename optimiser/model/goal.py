"""What the force curve is to do: bands to move, bands to hold, each with its own tolerance.

Forces here are *resisting* forces: positive when they oppose the motion, in either stroke, so that
a stiffer stack always means more.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray


class Role(Enum):
    """What a window asks of the forces inside it."""

    TARGET = "target"
    HOLD = "hold"
    FAMILIARITY = "familiarity"
    """A wide limit on everything else, so that the rider still knows the bike."""

    SHOWN = "shown"
    """Nothing is asked; the band is only drawn."""


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of one stroke's curve with the least and the most force allowed at each of its velocities.

    Parameters
    ----------
    name : what the tuner calls it.
    role : why it is there.
    velocities : shaft velocities where it is judged, positive in compression, negative in rebound. [m/s]
    before : resisting force of the damper as it is, at each velocity. [N]
    lower, desired, upper : least, wanted and most resisting force at each velocity. [N]
    """

    name: str
    role: Role
    velocities: tuple[float, ...]
    before: tuple[float, ...]
    lower: tuple[float, ...]
    desired: tuple[float, ...]
    upper: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Goal:
    """Everything the search has to meet: every velocity of every window, and the height of the stack.

    Parameters
    ----------
    windows : targets, holds and limits; the search sees their velocities one after another.
    least_height, most_height : height range of the stack at rest. [m]
    """

    windows: tuple[Window, ...]
    least_height: float
    most_height: float

    @property
    def velocities(self) -> NDArray[np.float64]:
        """All velocities of all windows, in order. [m/s]"""
        return np.array([v for window in self.windows for v in window.velocities])

    @property
    def lower(self) -> NDArray[np.float64]:
        """Least resisting force at each velocity. [N]"""
        return np.array([f for window in self.windows for f in window.lower])

    @property
    def desired(self) -> NDArray[np.float64]:
        """Wanted resisting force at each velocity. [N]"""
        return np.array([f for window in self.windows for f in window.desired])

    @property
    def upper(self) -> NDArray[np.float64]:
        """Most resisting force at each velocity. [N]"""
        return np.array([f for window in self.windows for f in window.upper])

    @property
    def before(self) -> NDArray[np.float64]:
        """Resisting force of the damper as it is, at each velocity. [N]"""
        return np.array([f for window in self.windows for f in window.before])

    @property
    def shares(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Least and most force at each velocity, as shares of the one before; 1 where that is none. [-]"""
        before = self.before
        known = before > 0
        low, high = np.ones(before.size), np.ones(before.size)
        low[known], high[known] = self.lower[known] / before[known], self.upper[known] / before[known]
        return low, high
