"""Samples at even times: the rate from the time column, never from a header."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.dyno.given import Floats, Recording, Settled
from optimiser.errors import InputError

UNEVEN: Final = 0.6
"""A time column that strays from even steps by more than this share of a step is interpolated. [-]"""

GAP: Final = 3.5
"""Steps from one sample to the next from which on samples are missing. [-]"""

RATES_AGREE: Final = 0.02
"""A claimed rate that is off by more is named. [-]"""

MOST_MISSING: Final = 4
"""Times as many samples as there are that a time column may ask for."""

FEWEST: Final = 20
"""Samples in a recording."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EvenSamples:
    """A recording at even times.

    Parameters
    ----------
    rate : samples a second.
    displacement, force : (samples,). [m], [N]
    missing : samples that lie in a gap of the time column (samples,).
    notes : what was derived.
    """

    rate: float
    displacement: Floats
    force: Floats
    missing: NDArray[np.bool_]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EvenTimes:
    """Even times that samples are brought to.

    Parameters
    ----------
    step : from one to the next. [s]
    times : (times,). [s]
    missing : those that lie in a gap between samples (times,).
    gaps : samples behind which one begins.
    even_already : whether the samples themselves lie at these times.
    """

    step: float
    times: Floats
    missing: NDArray[np.bool_]
    gaps: NDArray[np.intp]
    even_already: bool


def even_times(time: Floats, *, place: str, most_missing: float = MOST_MISSING) -> EvenTimes:
    """The even times that belong to the times of samples, gaps marked.

    Parameters
    ----------
    time : of the samples (samples,). [s]
    place : where they stand, for messages.
    most_missing : times as many samples as there are that the times may ask for. [-]

    Raises
    ------
    InputError
        When time stands still or goes back, or most samples are missing.
    """
    steps = np.diff(time)
    step = float(np.median(steps))
    if step <= 0 or (steps < 0).any():
        back = int(np.argmax(steps <= 0)) + 1
        raise InputError(
            f"{place}: time goes from {time[back - 1]:g} to {time[back]:g} s at sample {back + 1}, "
            "expected it to rise. Check the column, or part the runs with a blank line."
        )
    step = float(steps[steps < GAP * step].mean())
    count = float(time[-1] - time[0]) / step + 1
    if count > most_missing * time.size:
        raise InputError(
            f"{place}: time runs over {time[-1] - time[0]:g} s in steps of {step:g} s, expected "
            f"{count:.4g} samples and got {time.size}. Most are missing: check the time column."
        )
    times = time[0] + step * np.arange(round(count))
    gaps = np.flatnonzero(steps >= GAP * step)
    missing = np.zeros(times.size, dtype=bool)
    for gap in gaps:
        missing |= (times > time[gap]) & (times < time[gap + 1])
    even_already = times.size == time.size and bool(np.abs(time - times).max() <= UNEVEN * step)
    return EvenTimes(step=step, times=times, missing=missing, gaps=gaps, even_already=even_already)


def evenly(recording: Recording, settled: Settled) -> EvenSamples:
    """Bring a recording to even times.

    Raises
    ------
    InputError
        When there is no time column and nobody settles the rate, or time stands still or goes back.
    """
    given, count = recording.given, recording.displacement.size
    if count < FEWEST:
        raise InputError(
            f"{given.place}: got {count} samples, expected at least {FEWEST}. Check that the file is whole."
        )
    whole = np.zeros(count, dtype=bool)
    if settled.sample_rate is not None or recording.time is None:
        if settled.sample_rate is None:
            claim = (
                f" The file claims {given.claimed_rate:g} samples a second, but such figures have been wrong."
                if given.claimed_rate
                else ""
            )
            raise InputError(
                f"{given.place}: got no time column, expected one: the rate is never taken from a header."
                f"{claim} Say --sample-rate if you know it."
            )
        note = f"{settled.sample_rate:g} samples a second, as you say."
        return EvenSamples(
            rate=settled.sample_rate,
            displacement=recording.displacement,
            force=recording.force,
            missing=whole,
            notes=(note,),
        )
    return _from_time(recording, recording.time)


def _from_time(recording: Recording, time: Floats) -> EvenSamples:
    given = recording.given
    found = even_times(time, place=given.place)
    step, gaps = found.step, found.gaps
    notes = [f"{1 / step:.4g} samples a second, from the time column."]
    if given.claimed_rate and abs(given.claimed_rate * step - 1) > RATES_AGREE:
        notes.append(f"The file claims {given.claimed_rate:g} a second; the time column is believed.")
    if gaps.size:
        notes.append(
            f"{gaps.size} gap{'s' if gaps.size > 1 else ''} in the time column, the first after "
            f"{time[gaps[0]]:.4g} s; strokes with a gap are dropped."
        )
    displacement, force = recording.displacement, recording.force
    if not found.even_already:
        if not gaps.size:
            notes.append("The times are uneven; samples are interpolated to even ones.")
        displacement = np.interp(found.times, time, displacement)
        force = np.interp(found.times, time, force)
    return EvenSamples(
        rate=1 / step, displacement=displacement, force=force, missing=found.missing, notes=tuple(notes)
    )
