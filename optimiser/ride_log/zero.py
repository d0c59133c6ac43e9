"""What a logger reads at full extension: from wheels in the air, where the damper is at its end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.stats import theilslopes

from optimiser.errors import InputError
from optimiser.ride_log.smooth import low_passed, stretches
from optimiser.ride_log.trace import Floats

LEVEL: Final = 0.04
"""Of the travel, within which a wheel in the air stays at its end. [-]"""

LONG_ENOUGH: Final = 0.1
"""That it stays there. [s]"""

LANDS_WITHIN: Final = 0.12
"""Behind it, that the wheel comes in fast. [s]"""

LANDS_AT: Final = 0.6
"""Velocity of the wheel that is fast. [m/s]"""

WINDOW: Final = 15.0
"""Stretches of the run in each of which the lowest level is looked for. [s]"""

NEAR: Final = 0.06
"""Of the travel, that such levels are apart at most to be one end. [-]"""

ENOUGH: Final = 4
"""Levels over half of the run, from which on a zero that wanders is followed."""

BELIEVED: Final = 0.01
"""Of the travel, up to which the file's own zero is believed. [-]"""

MOST: Final = 0.25
"""Of the travel, that a zero may be off. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Zero:
    """Readings at full extension.

    Parameters
    ----------
    readings : over the run (samples,). [m]
    note : how they were found, in a sentence.
    """

    readings: Floats
    note: str


def zero_of(travel: Floats, *, rate: float, end: float, place: str, known: bool) -> Zero:
    """Readings at full extension.

    Parameters
    ----------
    travel : at even times, without spikes (samples,). [m]
    rate : samples a second. [1/s]
    end : of the travel. [m]
    place : for messages.
    known : whether the end is a machine's, so that a zero may be held against it.

    Raises
    ------
    InputError
        When the zero is too far off to be one.
    """
    calm = low_passed(travel, rate=rate, cut_off=min(15.0, 0.2 * rate))
    times, levels = _ends(calm, rate, end)
    if not levels.size:
        lowest = float(np.percentile(calm, 0.1))
        if lowest < -BELIEVED * end:
            _refuse_far(lowest, end, place, known=known)
            note = (
                f"The wheel is never in the air; the lowest reading, {1e3 * lowest:.1f} mm, is taken as full "
                "extension. Say --zero if you know it."
            )
            return Zero(np.full(travel.size, lowest), note)
        return Zero(np.zeros(travel.size), "The wheel is never in the air; the zero of the file is believed.")
    middle = float(np.median(levels))
    _refuse_far(middle, end, place, known=known)
    if levels.size >= ENOUGH and np.ptp(times) > travel.size / rate / 2:
        slope, base, *_ = theilslopes(levels, times)
        wander = float(slope) * travel.size / rate
        if abs(wander) > BELIEVED * end:
            readings = base + slope * np.arange(travel.size) / rate
            return Zero(
                readings,
                f"In the air the logger reads {1e3 * readings[0]:.1f} mm at the beginning and "
                f"{1e3 * readings[-1]:.1f} mm at the end, from {levels.size} flights: a zero that wanders is "
                "taken off.",
            )
    if abs(middle) <= BELIEVED * end:
        return Zero(np.zeros(travel.size), "In the air the logger reads zero, as it should.")
    return Zero(
        np.full(travel.size, middle),
        f"In the air the logger reads {1e3 * middle:.1f} mm, which is taken off. Say --zero if you know "
        "better.",
    )


def _ends(calm: Floats, rate: float, end: float) -> tuple[Floats, Floats]:
    """Times [s] and readings [m] of wheels in the air, one or none in every window of the run."""
    velocity = np.gradient(calm, 1 / rate)
    size, after = max(int(WINDOW * rate), 1), max(int(LANDS_WITHIN * rate), 1)
    found = []
    for start in range(0, calm.size, size):
        part = calm[start : start + size]
        low = part <= part.min() + LEVEL * end
        for first, last in stretches(low):
            lands = velocity[start + last : start + last + after]
            if last - first >= LONG_ENOUGH * rate and lands.size and lands.max() > LANDS_AT:
                found.append(
                    ((start + (first + last) / 2) / rate, float(np.percentile(part[first:last], 25)))
                )
    if not found:
        return np.empty(0), np.empty(0)
    times, levels = np.array(found).T
    near = levels <= levels.min() + NEAR * end
    return times[near], levels[near]


def _refuse_far(reading: float, end: float, place: str, *, known: bool) -> None:
    if known and abs(reading) > MOST * end:
        raise InputError(
            f"{place}: fully extended the logger reads {1e3 * reading:.4g} mm, expected 0, give or take "
            f"{100 * MOST:g} % of {1e3 * end:g} mm of travel. Check unit, calibration and which corner it "
            "is; or say --zero."
        )
