"""Figures that no wheel gives, and are refused."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.stats import skew

from optimiser.errors import InputError
from optimiser.ride_log.smooth import stretches
from optimiser.ride_log.trace import Flags, Floats, Trace, WheelMotion

SLOWEST_RATE, FASTEST_RATE = 40.0, 20_000.0
"""Of a logger that sees a wheel move, and of any. [1/s]"""

BEYOND: Final = 1.06
"""Times the travel that a reading may be. [-]"""

LEAST_USED: Final = 0.12
"""Of the travel, that any ride uses. [-]"""

LARGEST, SMALLEST = 0.7, 0.008
"""Travel of any machine that is not named, and of any ride. [m]"""

FASTEST: Final = 25.0
"""Of a wheel; common practice, no source. [m/s]"""

MOST_NOISE: Final = 0.2
"""Of the variance of travel. [-]"""

AT_ITS_END: Final = 0.06
"""A deepest reading that is the same to the last digit for longer was the sensor's end. [s]"""


def refuse_still(trace: Trace, has: Flags) -> None:
    """Refuse a trace in which nothing moves.

    Raises
    ------
    InputError
        Naming the one reading.
    """
    span = float(np.ptp(trace.travel[has]))
    if span == 0:
        raise InputError(
            f"{trace.place}: every reading is {1e3 * float(trace.travel[has][0]):.5g} mm, expected a wheel "
            "that moves. Check the column and the sensor's plug."
        )


def refuse_rate(trace: Trace, rate: float) -> None:
    """Refuse a rate that no logger has.

    Raises
    ------
    InputError
        Naming the rate.
    """
    if not SLOWEST_RATE <= rate <= FASTEST_RATE:
        raise InputError(
            f"{trace.place}: got {rate:.4g} samples a second from the time column, expected "
            f"{SLOWEST_RATE:g} to {FASTEST_RATE:g}. Check the unit of time, or log faster."
        )


def refuse_noise(trace: Trace, travel: Floats, noise: float, rate: float) -> None:
    """Refuse a trace that is mostly noise.

    Parameters
    ----------
    trace : as logged.
    travel : at even times (samples,). [m]
    noise : its density. [m^2 s]
    rate : samples a second. [1/s]

    Raises
    ------
    InputError
        Naming how much of it is.
    """
    share = noise * rate / 2 / max(float(travel.var()), 1e-12)
    if share > MOST_NOISE:
        raise InputError(
            f"{trace.place}: {100 * min(share, 1):.0f} % of what it holds is noise, expected a wheel's "
            "motion. Check the column and the sensor's plug."
        )


def refuse_impossible(trace: Trace, motion: WheelMotion, end: float, *, whole_ride: bool = True) -> None:
    """Refuse travel and velocity that the machine cannot have.

    Parameters
    ----------
    trace : as logged.
    motion : derived of it.
    end : all of the travel at the place that was measured. [m]
    whole_ride : whether it has to use a good part of the travel.

    Raises
    ------
    InputError
        Naming the figure, and what may be wrong.
    """
    if not motion.counted.any():
        raise InputError(
            f"{trace.place}: got no stretch of a quarter of a second without a gap, expected some. Check the "
            "time column."
        )
    travel = (motion.shaft_travel if trace.at == "shaft" else motion.wheel_travel)[motion.counted]
    deepest, used = float(np.percentile(travel, 99.95)), float(np.ptp(np.percentile(travel, [0.5, 99.95])))
    machine = motion.linkage.known
    if deepest > BEYOND * end or (not machine and deepest > LARGEST):
        most = end if machine else LARGEST
        raise InputError(
            f"{trace.place}: got travel up to {1e3 * deepest:.4g} mm, expected at most {1e3 * most:.4g} mm. "
            "Check the unit, the calibration, the corner, and whether wheel or shaft was measured."
        )
    if whole_ride and used < (LEAST_USED * end if machine else SMALLEST):
        of = f" of {1e3 * end:.4g}" if machine else ""
        raise InputError(
            f"{trace.place}: the whole run stays within {1e3 * used:.3g} mm{of}, expected a ride that uses "
            "more. Check the unit, the calibration and the column."
        )
    fastest = float(np.abs(motion.wheel_velocity[motion.counted]).max())
    if fastest > FASTEST:
        raise InputError(
            f"{trace.place}: got a wheel at {fastest:.4g} m/s, expected at most {FASTEST:g}. Check the units "
            f"of time and travel; a --cut-off lower than {motion.cut_off:.3g} Hz helps against noise."
        )
    _refuse_sensor_end(trace, motion, end)


def _refuse_sensor_end(trace: Trace, motion: WheelMotion, end: float) -> None:
    readings = trace.travel[np.isfinite(trace.travel)]
    held = [last - first for first, last in stretches(readings >= readings.max())]
    inside = motion.linkage.known and motion.wheel_travel[motion.counted].max() < 0.96 * motion.travel_end
    if inside and held and max(held) / motion.rate > AT_ITS_END:
        raise InputError(
            f"{trace.place}: the deepest reading stays the same to the last digit for "
            f"{max(held) / motion.rate:.2g} s, expected the wheel to go on to the end of its travel, "
            f"{1e3 * end:.4g} mm. The sensor was at its own end: mount it so that it covers all travel."
        )


def refuse_upside_down(trace: Trace, motion: WheelMotion) -> None:
    """Refuse a trace in which full travel looks like full extension.

    A wheel is thrown in faster than its damper lets it out, and rides nearer to extension than to its end.

    Raises
    ------
    InputError
        When both are the other way round.
    """
    if not motion.linkage.known:
        return
    usual = float(np.median(motion.wheel_travel[motion.counted])) / motion.travel_end
    if usual > 0.55 and float(skew(motion.wheel_velocity[motion.counted])) < -0.5:
        raise InputError(
            f"{trace.place}: the wheel rides at {100 * usual:.0f} % of its travel and comes out faster than "
            "it goes in, expected the other way round. The sensor counts backwards: calibrate it with "
            f'--calibrate "{trace.corner}=READING:0 mm, READING:{1e3 * motion.travel_end:g} mm".'
        )
