"""Force as the shaft comes to rest: the offset of the gas and the drag of the seals, free of damping."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimiser.dyno.given import Floats
from optimiser.dyno.run import Branch, DynoPoint
from optimiser.dyno.strokes import Motion

EDGES: Final = np.array([1.5e-3, 2.5e-3, 3.5e-3, 4.5e-3, 6.0e-3])
"""Of the velocities that are looked at: slower, seals only creep; faster, damping takes over. [m/s]"""

SIGNS: Final = (1.0, -1.0)
"""Of velocity in compression and in rebound."""

FEWEST: Final = 3
"""Slow velocities in either stroke that are needed."""

FASTEST: Final = 0.14
"""Peak velocity of a recording that is slow enough for this. [m/s]"""

SLOW: Final = 0.02
"""Peak velocity up to which friction has reversed in full within the velocities above: beyond it the figures
only tell which way the gas pushes. [m/s]"""

ROUNDED: Final = 0.02
"""A dyno set to a speed runs at it within this. [-]"""

ALREADY_OPEN: Final = 3.0
"""A force that falls towards rest faster by this much, extrapolated, is a valve that opens there. [N]"""

OF_LAG: Final = 0.15
"""Part of the gap between the branches that their mean may be off by. [-]"""

CREEPING: Final = 0.05
"""Part of the friction that may be missing at so slow a velocity. [-]"""

LEAST: Final = 1.0
"""No load cell's zero is known better. [N]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class AtRest:
    """Forces that both strokes come down to at rest, positive in compression.

    Parameters
    ----------
    compression, rebound : [N]
    plus_minus : how far off either may be. [N]
    speed : peak velocity of what they were found from; 0 where they were read at rest. [m/s]
    opening : whether a valve is already opening there: the force falls ever faster towards rest, so damping
        and friction look alike.
    """

    compression: float
    rebound: float
    plus_minus: float
    speed: float
    opening: bool = False

    @property
    def gas(self) -> float:
        """Half the sum: what pushes the same way in both strokes. [N]"""
        return (self.compression + self.rebound) / 2

    @property
    def friction(self) -> float:
        """Half the difference: what acts against either motion. [N]"""
        return (self.compression - self.rebound) / 2

    @property
    def gas_plus_minus(self) -> float:
        """How far off the gas may be: anywhere between the two strokes where a valve is opening. [N]"""
        return self.plus_minus + (abs(self.friction) if self.opening else 0.0)

    @property
    def slow(self) -> bool:
        """Whether it was slow enough to take figures from."""
        return self.speed <= SLOW * (1 + ROUNDED)

    @property
    def tells_friction(self) -> bool:
        """Whether it was slow enough for friction, no valve opens, and more is known than its sign."""
        return self.slow and not self.opening and self.friction > 1.5 * self.plus_minus


def at_rest(motion: Motion) -> AtRest | None:
    """Forces at rest from the slow parts of a recording; None where it has too few samples there.

    Notes
    -----
    The mean of speeding up and slowing down is taken first: lag and compliance act oppositely on the two and
    leave it to first order. Medians keep a spike of the cell out.
    """
    speed = float(np.abs(motion.velocity).max())
    if speed > FASTEST or len(motion.strokes) < 4:
        return None
    inside = np.zeros(motion.velocity.size, dtype=bool)
    inside[motion.strokes[0].first : motion.strokes[-1].last] = True
    faster = np.gradient(np.abs(motion.velocity)) > 0
    places: dict[float, list[float]] = {1.0: [], -1.0: []}
    means: dict[float, list[float]] = {1.0: [], -1.0: []}
    gaps = []
    for sign in SIGNS:
        for low, high in itertools.pairwise(EDGES):
            there = inside & (sign * motion.velocity >= low) & (sign * motion.velocity < high)
            up, down = motion.force[there & faster], motion.force[there & ~faster]
            if min(up.size, down.size) < 3:
                continue
            means[sign].append(sign * float(np.median(up) + np.median(down)) / 2)
            places[sign].append(float(np.abs(motion.velocity[there]).mean()))
            gaps.append(abs(float(np.median(up) - np.median(down))))
    if min(map(len, places.values())) < FEWEST:
        return None
    return _from_slow(places, means, gap=float(np.mean(gaps)), speed=speed)


def at_rest_of_points(points: Sequence[DynoPoint]) -> AtRest | None:
    """The same from steady points, where enough of both strokes are slow."""
    places: dict[float, list[float]] = {1.0: [], -1.0: []}
    means: dict[float, list[float]] = {1.0: [], -1.0: []}
    for point in sorted(points, key=lambda point: abs(point.velocity)):
        if point.branch is Branch.PEAK and EDGES[0] <= abs(point.velocity) <= 2 * EDGES[-1]:
            places[point.sign].append(abs(point.velocity))
            means[point.sign].append(point.sign * point.force)
    if min(map(len, places.values())) < FEWEST:
        return None
    return _from_slow(places, means, gap=0.0, speed=max(places[1.0] + places[-1.0]))


def _from_slow(
    places: Mapping[float, Sequence[float]],
    means: Mapping[float, Sequence[float]],
    *,
    gap: float,
    speed: float,
) -> AtRest:
    ends = {sign: _extrapolated(np.array(places[sign]), np.array(means[sign])) for sign in SIGNS}
    drag = abs(ends[1.0][0] + ends[-1.0][0]) / 2
    return AtRest(
        compression=ends[1.0][0],
        rebound=-ends[-1.0][0],
        plus_minus=LEAST + CREEPING * drag + max(end[1] for end in ends.values()) + OF_LAG * gap,
        speed=speed,
        opening=any(end[2] for end in ends.values()),
    )


def _extrapolated(speeds: Floats, forces: Floats) -> tuple[float, float, bool]:
    """Force against the motion at rest, how far off it may be, and whether a valve is opening on the way.

    A bleed's force begins with the square of the velocity, a leak's in line with it: rest is between the two.
    """
    squares = float(np.polynomial.polynomial.polyfit(speeds**2, forces, 1)[0])
    line = float(np.polynomial.polynomial.polyfit(speeds, forces, 1)[0])
    first = np.polynomial.polynomial.polyfit(speeds[:2], forces[:2], 1)
    last = np.polynomial.polynomial.polyfit(speeds[-2:], forces[-2:], 1)
    return (squares + line) / 2, abs(squares - line) / 2, bool(last[0] - first[0] > ALREADY_OPEN)
