"""One run laid over another, or over what was predicted of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.signal import correlate

from optimiser.intake.bands import Stroke
from optimiser.intake.complaint import NamedBand
from optimiser.ride_log.shares import peaks, shares
from optimiser.ride_log.trace import Flags, Floats, WheelMotion

ALIKE: Final = 0.7
"""Correlation of two travels from which on they are the same ride, and are laid over one another in time;
common practice, no source. [-]"""

RATE: Final = 200.0
"""At which two runs are compared. [1/s]"""

SHORTEST: Final = 0.5
"""Of what both have. [s]"""

MOST_OF: Final = 0.8
"""Of the shorter of two runs, that has to lie in the other. [-]"""

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
    """Lay a run over another of the same wheel; of one ride, only what both have of it is compared.

    Parameters
    ----------
    run, other : motions of the wheel.
    bands : of the shop.
    """
    in_time = _in_time(run, other)
    if in_time is not None:
        run, other = _common(run, other, in_time.delay)
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
        in_time=in_time,
    )


def _common(run: WheelMotion, other: WheelMotion, delay: float) -> tuple[WheelMotion, WheelMotion]:
    """Both with only that counted which lies in both."""
    first = max(run.time[0], other.time[0] + delay)
    last = min(run.time[-1], other.time[-1] + delay)
    return (
        replace(run, counted=run.within(first, last)),
        replace(other, counted=other.within(first - delay, last - delay)),
    )


def _deepest(motion: WheelMotion) -> float:
    return float(motion.wheel_travel[motion.counted].max())


def _in_time(run: WheelMotion, other: WheelMotion) -> InTime | None:
    one, two = (_even(motion) for motion in (run, other))
    if one[0].size + two[0].size > LONGEST or min(one[2].sum(), two[2].sum()) < SHORTEST * RATE:
        return None
    shift, alike = _best_shift(one[0], one[2], two[0], two[2])
    if not alike >= ALIKE:
        return None
    begin, end = max(shift, 0), min(one[0].size, two[0].size + shift)
    here, there = slice(begin, end), slice(begin - shift, end - shift)
    kept = one[2][here] & two[2][there]
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


def _best_shift(first: Floats, counted: Flags, second: Floats, others: Flags) -> tuple[int, float]:
    """Samples by which the first is later, where both are most alike, and their correlation there.

    The correlation is that of the samples that both have, so that a short piece is found in a long run.
    """
    # Travel is counted from its middle, which changes no correlation and keeps its sums small.
    a, b = (np.where(kept, x - x[kept].mean(), 0.0) for x, kept in ((first, counted), (second, others)))
    m, n = counted.astype(np.float64), others.astype(np.float64)

    def over(x: Floats, y: Floats) -> Floats:
        found: Floats = correlate(x, y, method="fft")
        return found

    count = np.maximum(over(m, n), 1.0)
    sums, others_sums = over(a, n), over(m, b)
    variance = np.maximum(over(a**2, n) - sums**2 / count, 0.0)
    others_variance = np.maximum(over(m, b**2) - others_sums**2 / count, 0.0)
    spread = np.sqrt(variance * others_variance)
    enough = count >= max(SHORTEST * RATE, MOST_OF * min(m.sum(), n.sum()))
    told = enough & (spread > 1e-6 * spread.max())
    alike = np.where(told, (over(a, b) - sums * others_sums / count) / np.where(told, spread, 1.0), -1.0)
    best = int(np.argmax(alike))
    return best - (second.size - 1), float(alike[best])


def _even(motion: WheelMotion) -> tuple[Floats, Floats, Flags]:
    """Wheel travel [m], shaft velocity [m/s] and what counts, at the common rate."""
    times = np.arange(motion.time[0], motion.time[-1], 1 / RATE)
    travel, velocity = (
        np.interp(times, motion.time, values) for values in (motion.wheel_travel, motion.shaft_velocity)
    )
    return travel, velocity, np.interp(times, motion.time, motion.counted) > 0.99
