"""A dyno run as a value: points of force against velocity, with all that they were measured under."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from optimiser.errors import InputError

Floats = NDArray[np.float64]


class Branch(StrEnum):
    """Where in its stroke a point was taken.

    A point at the peak is steady: at the peak of velocity or, where the rig gives much, at that of the force,
    with the velocity there. One off the peak carries lag and compliance: while the shaft speeds up the force
    is too small, while it slows down too large. The two are never mixed.
    """

    PEAK = "peak"
    SPEEDING_UP = "speeding up"
    SLOWING_DOWN = "slowing down"


class PlotKind(StrEnum):
    """What a run was drawn from."""

    PEAK_VELOCITY = "peak-velocity"
    """A table of forces at peaks of velocity, one point a stroke and speed."""
    CONTINUOUS = "continuous"
    """Whole strokes: peaks, and the two branches on their way there and back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DynoPoint:
    """Force of a damper on the dyno at one velocity.

    Parameters
    ----------
    velocity : of the shaft, positive in compression, never zero. [m/s]
    force : of the whole damper, gas and friction in it, positive in compression. [N]
    spread : standard deviation of the force from cycle to cycle; 0 where nobody knows it. [N]
    cycles : strokes that the point is the mean of.
    branch : where in its stroke it was taken.

    Raises
    ------
    InputError
        When a figure is not finite, or the shaft stands still.
    """

    velocity: float
    force: float
    spread: float = 0.0
    cycles: int = 1
    branch: Branch = Branch.PEAK

    def __post_init__(self) -> None:
        """Refuse a point that says nothing."""
        if not (math.isfinite(self.velocity) and self.velocity and math.isfinite(self.force)):
            raise InputError(
                f"got a dyno point of {self.force:g} N at {self.velocity:g} m/s, expected finite figures and "
                "a shaft that moves."
            )

    @property
    def sign(self) -> float:
        """1 in compression, -1 in rebound."""
        return math.copysign(1.0, self.velocity)


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitOff:
    """A part of the force that is no damping and is taken off.

    Parameters
    ----------
    force : of the part; gas pushes the shaft out at every velocity, friction acts against the motion. [N]
    plus_minus : how far off it may be. [N]
    how : what it was found from, in a sentence.
    """

    force: float
    plus_minus: float
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DynoRun:
    """What one run on a dyno measured, in SI; compression is positive.

    Parameters
    ----------
    name : of the run, as its file or a person calls it.
    source : the file it was read from.
    lines : first and last line of it there, counted from 1.
    kind : what it was drawn from.
    points : by velocity, rising; points off the peak carry their branch.
    clicks : clicks out of the adjusters that the run's file or a person names, by the adjuster's name.
    temperature : of the damper, or None. [K]
    gas_pressure : that the damper was filled to, gauge, or None. [Pa]
    stroke : of the dyno, from end to end, or None. [m]
    gas : the push of the gas, or None when it is not known: it is then still in every damping force.
    friction : the drag of seals and bushings, or None likewise.
    sample_rate : of a recording, from its time column; None for a table. [1/s]
    notes : what was derived, dropped and why, a sentence each.
    """

    name: str
    source: str
    lines: tuple[int, int]
    kind: PlotKind
    points: tuple[DynoPoint, ...]
    clicks: Mapping[str, int] = field(default_factory=dict)
    temperature: float | None = None
    gas_pressure: float | None = None
    stroke: float | None = None
    gas: SplitOff | None = None
    friction: SplitOff | None = None
    sample_rate: float | None = None
    notes: tuple[str, ...] = ()

    @property
    def gas_force(self) -> float | None:
        """Push of the gas on the shaft, the same at every velocity; None when not known. [N]"""
        return None if self.gas is None else self.gas.force

    @property
    def friction_force(self) -> float | None:
        """Drag against the motion, not negative; None when not known. [N]"""
        return None if self.friction is None else self.friction.force

    @property
    def peaks(self) -> tuple[DynoPoint, ...]:
        """The steady points alone: these may be laid over a force curve."""
        return tuple(point for point in self.points if point.branch is Branch.PEAK)

    def damping_force(self, point: DynoPoint) -> float:
        """Force of the oil alone at a point, positive in compression: what is known not to be, is off. [N]"""
        return point.force - (self.gas_force or 0.0) - point.sign * (self.friction_force or 0.0)

    def damping_forces(self) -> Floats:
        """The same of every point (points,). [N]"""
        return np.array([self.damping_force(point) for point in self.points])

    def velocities(self) -> Floats:
        """Of every point (points,). [m/s]"""
        return np.array([point.velocity for point in self.points])
