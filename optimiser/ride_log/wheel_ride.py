"""What one wheel did on a ride, all of it in one value."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optimiser.intake.bands import Stroke
from optimiser.intake.complaint import NamedBand
from optimiser.ride_log.beside import RunBeside, beside
from optimiser.ride_log.events import LoggedEvent, find_events
from optimiser.ride_log.moment import Moment, moment_of
from optimiser.ride_log.shares import BandShare, StrokePeaks, peaks, shares
from optimiser.ride_log.trace import WheelMotion


@dataclass(frozen=True, slots=True, kw_only=True)
class MomentAsked:
    """The moment that a rider names.

    Parameters
    ----------
    first, last : when; None for the beginning and the end of the run. [s]
    stroke : to look at; None for the one in which the shaft goes farther.
    """

    first: float | None = None
    last: float | None = None
    stroke: Stroke | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WheelRide:
    """What one wheel did.

    Parameters
    ----------
    motion : of wheel and shaft.
    bands : of the shop, by which shares are counted.
    shares : of time and way, by stroke and band.
    peaks : the fastest of each stroke.
    usual, deepest : travel of the wheel, the median and the most. [m]
    events : in order.
    moment : that was asked for; None without one.
    over : another run, laid under this one; None without one.
    predicted : what was predicted of the run; None without it.
    """

    motion: WheelMotion
    bands: tuple[NamedBand, ...]
    shares: tuple[BandShare, ...]
    peaks: tuple[StrokePeaks, ...]
    usual: float
    deepest: float
    events: tuple[LoggedEvent, ...]
    moment: Moment | None
    over: tuple[WheelMotion, RunBeside] | None
    predicted: tuple[WheelMotion, RunBeside] | None


def wheel_ride(
    motion: WheelMotion,
    bands: Sequence[NamedBand],
    *,
    asked: MomentAsked | None = None,
    over: WheelMotion | None = None,
    predicted: WheelMotion | None = None,
) -> WheelRide:
    """Look at one wheel.

    Parameters
    ----------
    motion : of wheel and shaft.
    bands : of the shop.
    asked : the moment to look at.
    over : the same wheel on another run.
    predicted : its motion as it was predicted.

    Raises
    ------
    InputError
        When the moment is not in the run.
    """
    travel = motion.wheel_travel[motion.counted]
    moment = None
    if asked is not None:
        first = float(motion.time[0]) if asked.first is None else asked.first
        last = float(motion.time[-1]) if asked.last is None else asked.last
        moment = moment_of(motion, first, last, stroke=asked.stroke)
    return WheelRide(
        motion=motion,
        bands=tuple(bands),
        shares=tuple(shares(motion, bands)),
        peaks=tuple(peaks(motion)),
        usual=float(np.median(travel)),
        deepest=float(travel.max()),
        events=tuple(find_events(motion)),
        moment=moment,
        over=None if over is None else (over, beside(motion, over, bands)),
        predicted=None if predicted is None else (predicted, beside(motion, predicted, bands)),
    )
