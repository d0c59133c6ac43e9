"""From a logged trace to the motion of wheel and shaft: everything derived, and everything said."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from scipy.interpolate import make_interp_spline

from damping_model.vehicle.leverage import LeverageCurve
from optimiser.dyno.sampling import even_times
from optimiser.errors import InputError
from optimiser.ride_log.smooth import SHORTEST, CutOff, chosen_cut_off, smoothed, stretches
from optimiser.ride_log.spikes import spikes
from optimiser.ride_log.suspicions import (
    refuse_impossible,
    refuse_noise,
    refuse_rate,
    refuse_still,
    refuse_upside_down,
)
from optimiser.ride_log.trace import (
    AS_LOGGED,
    CUT_OFF,
    CUT_OFF_SHARE,
    Flags,
    Floats,
    Linkage,
    Trace,
    Treatment,
    WheelMotion,
)
from optimiser.ride_log.zero import zero_of

MOST_MISSING: Final = 5.0
"""Times as many samples as there are, that the times of a run with pauses may ask for. [-]"""

STANDS: Final = 2.0
"""A reading that is the same to the last digit for longer is a parked machine or a stuck sensor. [s]"""

FEWEST: Final = 50
"""Samples of a run."""


def motion_of(trace: Trace, leverage: LeverageCurve | None, treatment: Treatment = AS_LOGGED) -> WheelMotion:
    """The motion of wheel and shaft that a logger saw.

    Parameters
    ----------
    trace : as logged.
    leverage : of the corner; None where no machine is named.
    treatment : what a person settles.

    Raises
    ------
    InputError
        Naming what the trace cannot be read for, and the way out.
    """
    has = np.isfinite(trace.travel)
    if has.sum() < FEWEST:
        raise InputError(
            f"{trace.place}: got {int(has.sum())} figures, expected at least {FEWEST}. Check that the file "
            "is whole, and the column."
        )
    refuse_still(trace, has)
    raw, readings = trace.travel[has], has.size - int(has.sum())
    notes = [f"{readings} cells hold no figure and are left out."] if readings else []
    step, times, missing, clean, said = _even(trace, treatment, has, raw)
    notes += said
    rate = 1 / step
    refuse_rate(trace, rate)
    linkage = _linkage(clean, leverage)
    end = linkage.leverage.wheel_travel_end
    if trace.at == "shaft":
        end = linkage.leverage.shaft_travel_end
    if treatment.zero is not None:
        clean = clean - treatment.zero
        notes.append(f"{1e3 * treatment.zero:.1f} mm is taken off as full extension, as you say.")
    else:
        zero = zero_of(clean, rate=rate, end=end, place=trace.place, known=linkage.known)
        clean = clean - zero.readings
        notes.append(zero.note)
        if not linkage.known:
            linkage = _linkage(clean, None)
            end = linkage.leverage.wheel_travel_end
    cut_off = _cut_off(trace, treatment, clean, rate)
    refuse_noise(trace, clean, cut_off.noise, rate)
    motion = _moved(trace, linkage, (times, clean, ~missing), rate=rate, cut_off=cut_off)
    refuse_impossible(trace, motion, end, whole_ride=treatment.whole_ride)
    refuse_upside_down(trace, motion)
    return replace(motion, notes=(*notes, *motion.notes, _filter_note(cut_off, rate)))


def _even(
    trace: Trace, treatment: Treatment, has: Flags, raw: Floats
) -> tuple[float, Floats, Flags, Floats, list[str]]:
    """Step [s], even times [s], those in gaps, travel there without spikes [m], and what is said of it."""
    if treatment.sample_rate is not None or trace.time is None:
        if treatment.sample_rate is None:
            raise InputError(
                f"{trace.place}: got no time column, expected one: the rate is never taken from a header. "
                'Name it with --column "time=HEADER:s", or say --sample-rate if you know it.'
            )
        step = 1 / treatment.sample_rate
        every: Floats = np.arange(has.size, dtype=np.float64)
        spoiled = spikes(raw)
        clean: Floats = np.interp(every, every[has][~spoiled], raw[~spoiled])
        said = [f"{treatment.sample_rate:g} samples a second, as you say.", *_spike_note(spoiled)]
        stuck = np.interp(every, every[has], _stuck(raw, 1 / step)) > 0.5
        return step, every * step, _long_gaps(~has) | stuck, clean, [*said, *_stuck_note(stuck, step)]
    time = trace.time[has]
    even = even_times(time, place=trace.place, most_missing=MOST_MISSING)
    spoiled = spikes(raw)
    known, travel = time[~spoiled], raw[~spoiled]
    # Across a gap a spline would swing to where no wheel was.
    clean = np.where(even.missing, np.interp(even.times, known, travel), _at(even.times, known, travel))
    said = [f"{1 / even.step:.4g} samples a second, from the time column.", *_spike_note(spoiled)]
    if even.gaps.size:
        lost = even.missing.sum() * even.step
        said.append(
            f"{even.gaps.size} gap{'s' if even.gaps.size > 1 else ''} of {lost:.2f} s in all, the first "
            f"after {time[even.gaps[0]]:.4g} s; that time is not counted."
        )
    stuck = np.interp(even.times, time, _stuck(raw, 1 / even.step)) > 0.5
    missing = even.missing | stuck
    return even.step, even.times, missing, clean, [*said, *_stuck_note(stuck, even.step)]


def _at(times: Floats, known: Floats, travel: Floats) -> Floats:
    """Travel at even times, from the cubic spline through samples at others. [m]"""
    rises = np.concatenate([[True], np.diff(known) > 0])
    found: Floats = make_interp_spline(known[rises], travel[rises], k=3)(times)
    return found


def _long_gaps(missing: Flags) -> Flags:
    """Samples that are missing for longer than a line between neighbours may stand for."""
    found = np.zeros(missing.size, dtype=bool)
    for first, last in stretches(missing):
        if last - first > 3:
            found[first:last] = True
    return found


def _spike_note(spoiled: Flags) -> list[str]:
    count = int(spoiled.sum())
    return [f"{count} samples are nothing like their neighbours and are left out."] if count else []


def _stuck(readings: Floats, rate: float) -> Flags:
    """Samples of stretches that stay the same to the last digit for longer than any motion does."""
    found = np.zeros(readings.size, dtype=bool)
    same = np.concatenate([[False], np.diff(readings) == 0])
    for first, last in stretches(same):
        if last - first > STANDS * rate:
            found[first:last] = True
    return found


def _stuck_note(stuck: Flags, step: float) -> list[str]:
    seconds = stuck.sum() * step
    note = (
        f"For {seconds:.1f} s the reading stays the same to the last digit: a parked machine or a stuck "
        "sensor. That time is not counted."
    )
    return [note] if seconds else []


def _linkage(travel: Floats, leverage: LeverageCurve | None) -> Linkage:
    if leverage is not None:
        return Linkage(leverage=leverage)
    span = max(float(travel.max()), 1e-3)
    return Linkage(leverage=LeverageCurve.constant(travel=span), known=False)


def _cut_off(trace: Trace, treatment: Treatment, clean: Floats, rate: float) -> CutOff:
    if treatment.cut_off is None:
        return chosen_cut_off(clean, rate=rate)
    if treatment.cut_off > CUT_OFF_SHARE * rate:
        raise InputError(
            f"{trace.place}: got a cut-off of {treatment.cut_off:g} Hz, expected at most "
            f"{CUT_OFF_SHARE * rate:.3g} Hz at {rate:.4g} samples a second. Choose a lower one."
        )
    return CutOff(treatment.cut_off, treatment.cut_off)


def _filter_note(cut_off: CutOff, rate: float) -> str:
    note = f"Filtered at {cut_off.fast:.3g} Hz"
    if cut_off.calm < cut_off.fast:
        note += f", and at {cut_off.calm:.3g} Hz where there is nothing but noise above that"
    note += " (Butterworth, second order, there and back, so without delay)."
    if CUT_OFF_SHARE * rate < CUT_OFF / 2:
        note += (
            f" At {rate:.3g} samples a second the fastest motion of a wheel is not in the log: peaks are "
            "understated."
        )
    return note


def _moved(
    trace: Trace, linkage: Linkage, even: tuple[Floats, Floats, Flags], *, rate: float, cut_off: CutOff
) -> WheelMotion:
    time, travel, counted = even
    filtered, velocity, kept = np.array(travel), np.zeros(travel.size), np.zeros(travel.size, dtype=bool)
    for first, last in stretches(counted):
        if last - first >= max(SHORTEST * rate, 16):
            filtered[first:last], velocity[first:last] = smoothed(
                travel[first:last], rate=rate, cut_off=cut_off
            )
            kept[first:last] = True
    curve = linkage.leverage
    if trace.at == "shaft":
        shaft, shaft_velocity = filtered, velocity
        grid = np.linspace(0.0, curve.wheel_travel_end, 2001)
        wheel = np.interp(shaft, curve.shaft_travel(wheel_travel=grid), grid)
        wheel_velocity = shaft_velocity / curve.motion_ratio(wheel_travel=wheel)
    else:
        wheel, wheel_velocity = filtered, velocity
        inside = np.clip(wheel, 0.0, curve.wheel_travel_end)
        shaft = curve.shaft_travel(wheel_travel=inside)
        shaft_velocity = wheel_velocity * curve.motion_ratio(wheel_travel=inside)
    return WheelMotion(
        corner=trace.corner,
        rate=rate,
        cut_off=cut_off.fast,
        time=time,
        wheel_travel=wheel,
        shaft_travel=shaft,
        wheel_velocity=wheel_velocity,
        shaft_velocity=shaft_velocity,
        counted=kept,
        linkage=linkage,
        notes=() if linkage.known else ("No machine is named: what was measured is taken as the shaft's.",),
    )
