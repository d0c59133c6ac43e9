"""The moment that a rider names, as a band of shaft velocity with its share of the ride."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from optimiser.errors import InputError
from optimiser.intake.bands import SIGN, Stroke
from optimiser.ride_log.shares import STROKES
from optimiser.ride_log.trace import Floats, WheelMotion

TAILS: Final = 0.1
"""Of the damper's work, that is done slower than the band, and as much that is done faster; common practice,
no source."""

SHORTEST: Final = 0.02
"""Of a moment. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """What one wheel did in a moment.

    Parameters
    ----------
    first, last : when. [s]
    stroke : in which the shaft went farther.
    low, high : shaft velocities between which four fifths of the work of a plain damper were done in that
        stroke, one whose force is as its velocity. [m/s]
    fastest : in that stroke. [m/s]
    travel_from, travel_to : of the wheel, while it went through the band. [m]
    time_in_moment : share of the moment in the band. [-]
    time_in_run : share of the whole run in the band. [-]
    way_here : of all the way that the shaft went in this band on the run, the share that it went here. [-]
    """

    first: float
    last: float
    stroke: Stroke
    low: float
    high: float
    fastest: float
    travel_from: float
    travel_to: float
    time_in_moment: float
    time_in_run: float
    way_here: float


def moment_of(motion: WheelMotion, first: float, last: float, *, stroke: Stroke | None = None) -> Moment:
    """The band of a moment.

    Parameters
    ----------
    motion : of one wheel.
    first, last : the moment. [s]
    stroke : to look at; the one in which the shaft goes farther when left out.

    Raises
    ------
    InputError
        When the moment lies outside the run, in a gap, or nothing moves in it.
    """
    inside = motion.within(first, last)
    begin, end = float(motion.time[0]), float(motion.time[-1])
    if not (np.isfinite([first, last]).all() and last - first >= SHORTEST):
        raise InputError(
            f"got a moment from {first:g} to {last:g} s, expected one of at least {SHORTEST:g} s. Swap "
            "them, or widen it."
        )
    if last < begin or first > end:
        raise InputError(
            f"got a moment from {first:g} to {last:g} s, expected one in the run, {begin:.4g} to {end:.4g} s."
        )
    if inside.sum() < 5:
        raise InputError(
            f"the moment from {first:g} to {last:g} s lies in a gap of the log, or has too few samples in "
            "it; expected figures there. Name another."
        )
    velocity = motion.shaft_velocity[inside]
    way: dict[Stroke, float] = {one: float(np.clip(SIGN[one] * velocity, 0, None).sum()) for one in STROKES}
    farther: Stroke = "compression" if way["compression"] >= way["rebound"] else "rebound"
    chosen = farther if stroke is None else stroke
    speed = SIGN[chosen] * velocity
    speed = speed[speed > 0]
    if speed.size < 3:
        raise InputError(
            f"in the moment from {first:g} to {last:g} s there is no {chosen}, expected some. Name another."
        )
    low, high = _middle(speed)
    every = SIGN[chosen] * motion.shaft_velocity
    in_band = (every >= low) & (every <= high)
    here, run = inside & in_band, motion.counted & in_band
    travel = motion.wheel_travel[here]
    return Moment(
        first=max(first, begin),
        last=min(last, end),
        stroke=chosen,
        low=low,
        high=high,
        fastest=float(speed.max()),
        travel_from=float(travel.min()),
        travel_to=float(travel.max()),
        time_in_moment=float(here.sum() / inside.sum()),
        time_in_run=float(run.sum() / motion.counted.sum()),
        way_here=float(every[here].sum() / every[run].sum()),
    )


def _middle(speed: Floats) -> tuple[float, float]:
    """Speeds between which all but the tails of the work lie. [m/s]"""
    ordered = np.sort(speed)
    work = ordered**2
    share = (np.cumsum(work) - work / 2) / work.sum()
    low, high = (float(np.interp(part, share, ordered)) for part in (TAILS, 1 - TAILS))
    # Of a motion at one speed the band would have no width.
    return (low, high) if high > 1.05 * low else (low / 1.05, high * 1.05)
