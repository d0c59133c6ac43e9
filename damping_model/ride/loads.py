"""Loads on the two ends of a body: braking, driving, pedalling, leaning."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import GeometryError
from damping_model.ride.inputs import Course
from damping_model.ride.roads import BEFORE

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Transfer:
    r"""What load transfer needs to know of a machine.

    Parameters
    ----------
    mass : of machine and rider. [kg]
    mass_height : of their centre of mass over the ground. [m]
    wheelbase : between the axles. [m]

    Notes
    -----
    Moments about the contact of a tyre: :math:`\Delta F = m a h / l` moves to the front under a deceleration
    :math:`a` (any text on vehicle dynamics). What a linkage takes past the spring, anti-squat, is a share of
    it.
    """

    mass: float
    mass_height: float
    wheelbase: float

    def __post_init__(self) -> None:
        """Refuse a machine without mass, height or length."""
        if not all(0 < x < math.inf for x in (self.mass, self.mass_height, self.wheelbase)):
            raise GeometryError(
                f"got {self.mass:g} kg at {self.mass_height:g} m on a wheelbase of {self.wheelbase:g} m, "
                "expected each above 0."
            )

    def moved(self, acceleration: float) -> float:
        """Load that an acceleration [m/s^2] moves from the front wheel to the rear one. [N]"""
        return self.mass * acceleration * self.mass_height / self.wheelbase


def pulled_and_let_go(*, peak: float, rise_time: float, hold: float, fall_time: float) -> Course:
    """A quantity that rises from 0, stays, and goes back, in half cosine waves.

    Parameters
    ----------
    peak : that is reached.
    rise_time, hold, fall_time : how long it rises, stays, falls. [s]
    """

    def course(times: Floats) -> Floats:
        up = np.clip((times - BEFORE) / rise_time, 0.0, 1.0)
        down = np.clip((times - BEFORE - rise_time - hold) / fall_time, 0.0, 1.0)
        return 0.5 * peak * (np.cos(math.pi * down) - np.cos(math.pi * up))

    return course


def in_strokes(*, mean: float, frequency: float, rise_time: float) -> Course:
    """A quantity that swings between nothing and twice its mean, as the push of two feet does.

    Parameters
    ----------
    mean : of it.
    frequency : of the strokes. [Hz]
    rise_time : until it swings in full. [s]
    """

    def course(times: Floats) -> Floats:
        since = np.maximum(times - BEFORE, 0.0)
        grown = 0.5 * (1 - np.cos(math.pi * np.clip(since / rise_time, 0.0, 1.0)))
        pushed: Floats = mean * grown * (1 - np.cos(2 * math.pi * frequency * since))
        return pushed

    return course


def in_a_turn(angle: float) -> float:
    r"""How much more than its weight a machine loads its springs in a turn, as a share: 1/cos - 1. [-]

    Parameters
    ----------
    angle : of the lean from upright, in a steady turn on level ground. [rad]
    """
    if not 0 <= angle < math.pi / 3:
        raise GeometryError(f"got a lean of {math.degrees(angle):g} degrees, expected 0 to less than 60.")
    return 1 / math.cos(angle) - 1


def together(*parts: tuple[float, Course]) -> Course:
    """A sum of courses, each by a factor."""
    return lambda times: sum((factor * part(times) for factor, part in parts), np.zeros_like(times))
