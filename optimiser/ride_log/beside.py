"""One run laid over another, or over what was predicted of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.signal import correlate

from optimiser.intake.bands import Stroke
from optimiser.intake.complaint import NamedBand
from optimiser.ride_log.shares import peaks, shares
from optimiser.ride_log.trace import Floats, WheelMotion

ALIKE: Final = 0.7
"""Correlation of two travels from which on they are the same ride, and are laid over one another in time;
common practice, no source. [-]"""

RATE: Final = 200.0
"""At which two runs are compared. [1/s]"""

LONGEST: Final = 1_000_000
"""Samples of both, at that rate, that are compared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareBeside:
    """A band of both runs.

    Parameters
    ----------
    band, stroke : whose share; no stroke for what is too slow to tell.
    run, other : share of time in either. [-]
    """

    band: str
    stroke: Stroke | None
    run: float
    other: float

    @property
    def more(self) -> float:
        """By how much the run has more of it than the other. [-]"""
        return self.run - self.other


@dataclass(frozen=True, slots=True, kw_only=True)
class InTime:
    """Two runs that are one ride, laid over one another in time.

    Parameters
    ----------
    delay : of the run behind the other. [s]
    seconds : that both have. [s]
    correlation : of their travels. [-]
    travel_error : root mean square of what the run's travel is off the other's. [m]
    velocity_error : the same of shaft velocity. [m/s]
    travel_used : of the run less that of the other, at the deepest. [m]
    """

    delay: float
    seconds: float
    correlation: float
    travel_error: float
    velocity_error: float
    travel_used: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunBeside:
    """One wheel of two runs.

    Parameters
    ----------
    corner : the wheel.
    shares : by stroke and band.
    fastest : of the run and of the other, by stroke. [m/s]
    deepest : wheel travel of the run and of the other. [m]
    in_time : where both are the same ride; else None.
    """

    corner: str
    shares: tuple[ShareBeside, ...]
    fastest: dict[Stroke, tuple[float, float]]
    deepest: tuple[float, float]
    in_time: InTime | None


def beside(run: WheelMotion, other: WheelMotion, bands: Sequence[NamedBand]) -> RunBeside:
    """Lay a run over another of the same wheel.

    Parameters
    ----------
    run, other : motions of the wheel.
    bands : of the shop.
    """
    both = zip(shares(run, bands), shares(other, bands), strict=True)
    tops = [{one.stroke: one.velocity for one in peaks(motion)} for motion in (run, other)]
    strokes = [stroke for stroke in tops[0] if stroke in tops[1]]
    return RunBeside(
        corner=run.corner,
        shares=tuple(
            ShareBeside(band=one.band, stroke=one.stroke, run=one.time, other=two.time) for one, two in both
        ),
        fastest={stroke: (tops[0][stroke], tops[1][stroke]) for stroke in strokes},
        deepest=(_deepest(run), _deepest(other)),
        in_time=_in_time(run, other),
    )


def _deepest(motion: WheelMotion) -> float:
    return float(motion.wheel_travel[motion.counted].max())


def _in_time(run: WheelMotion, other: WheelMotion) -> InTime | None:
    one, two = (_even(motion) for motion in (run, other))
    if one[0].size + two[0].size > LONGEST or min(one[0].size, two[0].size) < RATE:
        return None
    # The mean is taken off and gaps count as nothing, so that only what both have is compared.
    first, second = (np.where(kept, travel - travel[kept].mean(), 0.0) for travel, _, kept in (one, two))
    shift = int(np.argmax(correlate(first, second, method="fft"))) - (second.size - 1)
    begin, end = max(shift, 0), min(first.size, second.size + shift)
    here, there = slice(begin, end), slice(begin - shift, end - shift)
    kept = one[2][here] & two[2][there]
    if kept.sum() < RATE:
        return None
    alike = float(np.corrcoef(first[here][kept], second[there][kept])[0, 1])
    if not alike >= ALIKE:
        return None
    off = (one[0][here] - two[0][there])[kept]
    faster = (one[1][here] - two[1][there])[kept]
    return InTime(
        delay=shift / RATE + float(run.time[0] - other.time[0]),
        seconds=float(kept.sum() / RATE),
        correlation=alike,
        travel_error=float(np.sqrt(np.mean(off**2))),
        velocity_error=float(np.sqrt(np.mean(faster**2))),
        travel_used=float(one[0][here][kept].max() - two[0][there][kept].max()),
    )


def _even(motion: WheelMotion) -> tuple[Floats, Floats, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    """Wheel travel [m], shaft velocity [m/s] and what counts, at the common rate."""
    times = np.arange(motion.time[0], motion.time[-1], 1 / RATE)
    travel, velocity = (
        np.interp(times, motion.time, values) for values in (motion.wheel_travel, motion.shaft_velocity)
    )
    return travel, velocity, np.interp(times, motion.time, motion.counted) > 0.99
