"""Points of single strokes: the force at the peak of velocity, and on the two branches there and back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.dyno.given import Floats
from optimiser.dyno.strokes import Motion, StrokeSpan

WINDOW: Final = 0.9
"""Samples faster than this share of the peak belong to it. [-]"""

NEAR_PEAK: Final = 0.95
"""The middle of the stroke is where the force is read if it is as fast as this share of the peak. [-]"""

STEADY: Final = 0.04
"""Velocities that differ by less over the middle half of a stroke are one: a ramp. [-]"""

FOR_A_PARABOLA: Final = 5
"""Samples that are read by a parabola instead of their mean."""

TOP: Final = 0.06
"""Samples within this part of the whole range of force belong to its top. [-]"""

SHARES: Final = (0.2, 0.4, 0.6, 0.8)
"""Of the peak velocity, at which the branches are read. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrokePoints:
    """What one stroke says.

    Parameters
    ----------
    stroke : which one.
    velocity, force : at the peak, positive in compression. [m/s], [N]
    top_velocity, top_force : where the force is greatest against the motion and what gives in the rig stands
        still. [m/s], [N]
    up, down : force at the shares of the peak velocity while speeding up and slowing down; nan where the
        stroke has no sample there (shares,). [N]
    at_middle : whether it was read at mid-stroke, not elsewhere at the peak of velocity.
    steady : whether the shaft ran at one speed for the middle half of the stroke, as on a ramp.
    """

    stroke: StrokeSpan
    velocity: float
    force: float
    top_velocity: float
    top_force: float
    up: Floats
    down: Floats
    at_middle: bool
    steady: bool


def points_of_stroke(motion: Motion, stroke: StrokeSpan, *, mid_stroke: float | None = None) -> StrokePoints:
    """Read one stroke.

    Parameters
    ----------
    motion : positive in compression.
    stroke : of it.
    mid_stroke : displacement to read at; half-way between the ends of the stroke unless given. [m]
    """
    part = slice(stroke.first, stroke.last + 1)
    speed, force, place = stroke.sign * motion.velocity[part], motion.force[part], motion.displacement[part]
    middle = (place[0] + place[-1]) / 2 if mid_stroke is None else mid_stroke
    half = speed[place.size // 4 : place.size - place.size // 4]
    steady = float(np.mean(np.abs(half - np.median(half)) <= STEADY * np.median(half))) > 0.8
    # The smoothed velocity overshoots at the corners of a ramp: its own middle is what counts there.
    peak = place.size // 2 if steady else int(np.argmax(speed))
    centre = float(np.interp(stroke.sign * middle, stroke.sign * place, np.arange(place.size)))
    at_middle = mid_stroke is not None or speed[round(centre)] >= NEAR_PEAK * speed[peak]
    centre = centre if at_middle else float(peak)
    near = np.flatnonzero(speed >= WINDOW * speed[round(centre)])
    near = near[np.abs(near - centre) <= max(2.0, 0.15 * place.size)]
    if near.size < FOR_A_PARABOLA:
        near = np.sort(np.argsort(np.abs(np.arange(place.size) - centre), kind="stable")[:FOR_A_PARABOLA])
    off_centre = np.asarray(near - centre, dtype=np.float64)
    near_top, at_top = _top(stroke.sign * force)
    offsets = np.asarray(near_top - at_top, dtype=np.float64)
    return StrokePoints(
        stroke=stroke,
        top_velocity=stroke.sign * _value_at(offsets, speed[near_top]),
        top_force=_value_at(offsets, force[near_top]),
        velocity=stroke.sign * (float(half.mean()) if steady else _value_at(off_centre, speed[near])),
        force=_value_at(off_centre, force[near]),
        up=_crossed(speed[: peak + 1], force[: peak + 1], speed[peak]),
        down=_crossed(speed[peak:][::-1], force[peak:][::-1], speed[peak]),
        at_middle=at_middle,
        steady=steady,
    )


def _top(against: Floats) -> tuple[NDArray[np.intp], float]:
    """Samples about the greatest force against the motion, and where among them it lies."""
    low, high = np.percentile(against, (2, 98))
    level = float(high - TOP * (high - low))
    near = np.flatnonzero(against >= level)
    middle = float(near[near.size // 2])
    near = near[np.abs(near - middle) <= max(2.0, 0.15 * against.size)]
    if near.size < FOR_A_PARABOLA:
        return near, float(near.mean())
    bend = np.polynomial.polynomial.polyfit(near - middle, against[near], 2)
    place = -bend[1] / (2 * bend[2]) if bend[2] < 0 else 0.0
    return near, middle + float(np.clip(place, near[0] - middle, near[-1] - middle))


def _value_at(offsets: Floats, values: Floats) -> float:
    """Value at the middle of a small window: a parabola's, which a bent top does not lower; else the mean."""
    if values.size < FOR_A_PARABOLA:
        return float(values.mean())
    return float(np.polynomial.polynomial.polyfit(offsets, values, 2)[0])


def _crossed(speed: Floats, force: Floats, peak: float) -> Floats:
    """Force where the speed first passes each share of its peak, going up."""
    found = np.full(len(SHARES), np.nan)
    for number, share in enumerate(SHARES):
        above = int(np.argmax(speed >= share * peak))
        if above == 0:
            continue
        low, high = speed[above - 1], speed[above]
        weight = (share * peak - low) / (high - low)
        found[number] = force[above - 1] + weight * (force[above] - force[above - 1])
    return found
