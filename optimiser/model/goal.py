"""What the force curve is to do: bands to move, bands to hold, each with its own tolerance.

Forces here are *resisting* forces: positive when they oppose the motion, in either stroke, so that
a stiffer stack always means more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import Enum
from itertools import accumulate
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

LEAST_FORCE = 1e-9
"""Forces and widths below this are not divided by. [N]"""


class Role(Enum):
    """What a window asks of the forces inside it."""

    TARGET = "target"
    HOLD = "hold"
    FAMILIARITY = "familiarity"
    """A wide limit on everything else, so that the rider still knows the bike."""

    SHOWN = "shown"
    """Nothing is asked; the band is only drawn."""


@dataclass(frozen=True, slots=True)
class Average:
    """What a band has to do on average: the mean of its change over the logarithm of velocity.

    The change is the logarithm of the force over the force before, so that half as much and twice as much
    weigh the same.

    Parameters
    ----------
    lower, desired, upper : least, wanted and most average change. [-]
    """

    lower: float
    desired: float
    upper: float


class AveragedPart(NamedTuple):
    """Where an average lies among a goal's velocities.

    Parameters
    ----------
    part : the velocities of its window.
    weights : of each of them in the mean; they add up to 1. [-]
    average : what is asked of it.
    """

    part: slice
    weights: NDArray[np.float64]
    average: Average


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of one stroke's curve with the least and the most force allowed at each of its velocities.

    Parameters
    ----------
    name : what the tuner calls it.
    role : why it is there.
    velocities : shaft velocities where it is judged, positive in compression, negative in rebound. [m/s]
    before : damping force of the damper as it is, at each velocity. [N]
    lower, desired, upper : least, wanted and most damping force at each velocity. [N]
    average : what is asked of the whole band besides; None when each velocity is all that counts.
    """

    name: str
    role: Role
    velocities: tuple[float, ...]
    before: tuple[float, ...]
    lower: tuple[float, ...]
    desired: tuple[float, ...]
    upper: tuple[float, ...]
    average: Average | None = field(default=None, kw_only=True)


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
    def parts(self) -> tuple[tuple[Window, slice], ...]:
        """Every window with its place among the velocities."""
        stops = accumulate(len(window.velocities) for window in self.windows)
        return tuple(
            (window, slice(stop - len(window.velocities), stop))
            for window, stop in zip(self.windows, stops, strict=True)
        )

    @property
    def moved(self) -> tuple[int, ...]:
        """Places of the windows that a job names: targets and held bands."""
        own = {Role.TARGET, Role.HOLD}
        return tuple(place for place, window in enumerate(self.windows) if window.role in own)

    @property
    def velocities(self) -> NDArray[np.float64]:
        """All velocities of all windows, in order. [m/s]"""
        return np.array([v for window in self.windows for v in window.velocities])

    @property
    def spans(self) -> tuple[tuple[float, float], ...]:
        """Velocity of each window that is slowest and that is fastest. [m/s]"""
        return tuple(
            (min(window.velocities, key=abs), max(window.velocities, key=abs)) for window in self.windows
        )

    @property
    def lower(self) -> NDArray[np.float64]:
        """Least damping force at each velocity. [N]"""
        return np.array([f for window in self.windows for f in window.lower])

    @property
    def desired(self) -> NDArray[np.float64]:
        """Wanted damping force at each velocity. [N]"""
        return np.array([f for window in self.windows for f in window.desired])

    @property
    def upper(self) -> NDArray[np.float64]:
        """Most damping force at each velocity. [N]"""
        return np.array([f for window in self.windows for f in window.upper])

    @property
    def before(self) -> NDArray[np.float64]:
        """Damping force of the damper as it is, at each velocity. [N]"""
        return np.array([f for window in self.windows for f in window.before])

    @property
    def shares(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Least and most force at each velocity, as shares of the one before; 1 where that is none. [-]"""
        before = self.before
        known = before > 0
        low, high = np.ones(before.size), np.ones(before.size)
        low[known], high[known] = self.lower[known] / before[known], self.upper[known] / before[known]
        return low, high

    @property
    def averages(self) -> tuple[AveragedPart, ...]:
        """The windows of which an average is asked, with their place among the velocities."""
        return tuple(
            AveragedPart(part, mean_weights(window.velocities), window.average)
            for window, part in self.parts
            if window.average is not None
        )


def mean_weights(velocities: Sequence[float]) -> NDArray[np.float64]:
    """Weight of each velocity in a mean over the logarithm of velocity: the trapezoidal rule. [-]

    Parameters
    ----------
    velocities : of one band, in rising order of speed. [m/s]
    """
    logs = np.log(np.abs(np.asarray(velocities, dtype=float)))
    if logs.size < 2 or logs[-1] == logs[0]:
        return np.full(logs.size, 1.0 / logs.size)
    steps = np.diff(logs)
    weights = np.zeros(logs.size)
    weights[:-1] += steps / 2
    weights[1:] += steps / 2
    return np.asarray(weights / (logs[-1] - logs[0]))


def mean_change(window: Window, forces: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean over the logarithm of velocity of the logarithm of a band's force over the force before. [-]

    Parameters
    ----------
    window : the band.
    forces : damping force at each of its velocities (..., velocities). [N]
    """
    ratio = np.maximum(forces, LEAST_FORCE) / np.maximum(np.array(window.before), LEAST_FORCE)
    return np.asarray(np.log(ratio) @ mean_weights(window.velocities))


def room_around_desired(window: Window) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How far the force may lie below and above the desired one, at each velocity of a band. [N]

    Where an average is asked, as far as the average may lie from its own middle.
    """
    before, desired = np.array(window.before), np.array(window.desired)
    if window.average is None:
        return desired - np.array(window.lower), np.array(window.upper) - desired
    least, wanted, most = np.expm1([window.average.lower, window.average.desired, window.average.upper])
    return before * (wanted - least), before * (most - wanted)


def mean_limits(window: Window) -> tuple[float, float]:
    """Least and most average change that a band may have, as shares of the force before. [-]"""
    if window.average is not None:
        return float(np.expm1(window.average.lower)), float(np.expm1(window.average.upper))
    least, most = np.expm1(mean_change(window, np.array([window.lower, window.upper])))
    return float(least), float(most)
