"""Roads under a wheel over time: edges, rollers, hollows, lips and rough ground, at a constant speed."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import GeometryError
from damping_model.ride.inputs import Course

Floats = NDArray[np.float64]

BEFORE: Final = 0.1
"""Level road before anything begins. [s]"""

REFERENCE_WAVE_NUMBER: Final = 0.1
"""At which ISO 8608 names a class. [cycles/m]"""

CLASS_ROUGHNESS: Final = {name: 16e-6 * 4**k for k, name in enumerate("ABCDEFGH")}
"""Geometric mean of the displacement power spectral density at the reference wave number, by class. [m^3]"""

WAVE_NUMBERS: Final = (0.05, 5.0)
"""Longest and shortest waves of a rough road: two decades. [cycles/m]"""

WAVE_STEP: Final = 0.025
"""Between two waves: the road repeats after 40 m. [cycles/m]"""

FADE_IN: Final = 0.4
"""Over which a rough road rises from level ground. [s]"""


def square_edge(*, height: float, speed: float, wheel_radius: float) -> Course:
    r"""Path of the axle of a round, rigid wheel that rolls up a square edge.

    Parameters
    ----------
    height : of the edge, less than the wheel's radius. [m]
    speed : [m/s]
    wheel_radius : [m]

    Notes
    -----
    The wheel meets the edge at :math:`d_0 = \sqrt{2Rh - h^2}` before it and turns about it, so the axle runs
    on a circle: :math:`\sqrt{R^2 - d^2} - (R - h)` at the distance :math:`d`. Elementary geometry.

    Raises
    ------
    GeometryError
        When the edge is higher than the wheel's radius.
    """
    _above_zero("square edge", height=height, speed=speed, wheel_radius=wheel_radius)
    if height >= wheel_radius:
        raise GeometryError(
            f"square edge: got a height of {height * 1e3:g} mm, expected less than the wheel's radius of "
            f"{wheel_radius * 1e3:g} mm. A wheel does not roll over more."
        )
    before = math.sqrt(2 * wheel_radius * height - height**2)

    def road(times: Floats) -> Floats:
        away = np.clip(before - speed * (times - BEFORE), 0.0, before)
        return np.sqrt(wheel_radius**2 - away**2) - (wheel_radius - height)

    return road


def rollers(*, height: float, length: float, speed: float, count: int) -> Course:
    """Waves one after another: rollers, whoops, braking bumps, chatter.

    Parameters
    ----------
    height : from valley to crest. [m]
    length : from crest to crest. [m]
    speed : [m/s]
    count : of waves.
    """
    _above_zero("rollers", height=height, length=length, speed=speed, count=count)

    def road(times: Floats) -> Floats:
        along = np.clip(speed * (times - BEFORE) / length, 0.0, count)
        return 0.5 * height * (1 - np.cos(2 * math.pi * along))

    return road


def hollow(*, depth: float, length: float, speed: float) -> Course:
    """One dip, down and up again; parameters as those of :func:`rollers`."""
    wave = rollers(height=depth, length=length, speed=speed, count=1)
    return lambda times: -wave(times)


def lip(*, height: float, length: float, speed: float) -> Course:
    """A face that curves up and ends: the road behind it is as low as before.

    Parameters
    ----------
    height : of the lip. [m]
    length : of its face. [m]
    speed : [m/s]

    Notes
    -----
    The face is an arc of constant curvature in the small: height times the square of the share of the way.
    Behind the lip the road falls back over 20 ms.
    """
    _above_zero("lip", height=height, length=length, speed=speed)

    def road(times: Floats) -> Floats:
        along = np.clip(speed * (times - BEFORE) / length, 0.0, 1.0)
        over = np.clip((times - BEFORE - length / speed) / 20e-3, 0.0, 1.0)
        return height * (along**2 - 0.5 * (1 - np.cos(math.pi * over)))

    return road


def uneven_profile(*, road_class: str, seed: int) -> tuple[Floats, Floats, Floats]:
    """Waves of a rough road: wave numbers [cycles/m], amplitudes [m], phases [rad].

    Raises
    ------
    GeometryError
        When there is no such class.

    Notes
    -----
    ISO 8608:2016: :math:`G_d(n) = G_d(n_0) (n/n_0)^{-2}`. Each of
    evenly spaced waves carries the integral of that density over its own stretch, half its amplitude squared,
    with a phase drawn at random. The means of classes F
    to H were not read in the standard: they carry its rule on, four times from class to class.
    """
    if road_class not in CLASS_ROUGHNESS:
        raise GeometryError(
            f"got road class {road_class!r}, expected one of {', '.join(CLASS_ROUGHNESS)} of ISO 8608."
        )
    low, high = WAVE_NUMBERS
    count = round((high - low) / WAVE_STEP) + 1
    waves: Floats = low + WAVE_STEP * np.arange(count, dtype=np.float64)
    over = 1 / (waves - WAVE_STEP / 2) - 1 / (waves + WAVE_STEP / 2)
    power = CLASS_ROUGHNESS[road_class] * REFERENCE_WAVE_NUMBER**2 * over
    phases = np.random.default_rng(seed).uniform(0.0, 2 * math.pi, waves.size)
    return waves, np.sqrt(2 * power), phases


def uneven_heights(*, road_class: str, seed: int, along: Floats) -> Floats:
    """Height of a rough road [m] along the way [m]."""
    waves, amplitudes, phases = uneven_profile(road_class=road_class, seed=seed)
    found = np.zeros(along.size)
    for wave, amplitude, phase in zip(waves, amplitudes, phases, strict=True):
        found += amplitude * np.cos(2 * math.pi * wave * along + phase)
    return found


def uneven(*, road_class: str, speed: float, seed: int) -> Course:
    """A rough road by its class, rising from level ground at first.

    Parameters
    ----------
    road_class : A to H of ISO 8608.
    speed : [m/s]
    seed : of the phases: one seed, one road.
    """
    _above_zero("rough road", speed=speed)

    def road(times: Floats) -> Floats:
        heights = uneven_heights(road_class=road_class, seed=seed, along=speed * times)
        risen = 0.5 * (1 - np.cos(math.pi * np.clip(times / FADE_IN, 0.0, 1.0)))
        found: Floats = (heights - heights[0]) * risen
        return found

    return road


def later(course: Course, delay: float) -> Course:
    """What the front wheel meets, met by the rear one a while [s] after."""
    return lambda times: course(np.maximum(times - delay, 0.0))


def _above_zero(what: str, **values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise GeometryError(f"{what}: got {name.replace('_', ' ')} {value}, expected a number above 0.")
