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
    given, steps = recording.given, np.diff(time)
    step = float(np.median(steps))
    if step <= 0 or (steps < 0).any():
        back = int(np.argmax(steps <= 0)) + 1
        raise InputError(
            f"{given.place}: time goes from {time[back - 1]:g} to {time[back]:g} s at sample {back + 1}, "
            "expected it to rise. Check the column, or part the runs with a blank line."
        )
    kept = steps[steps < GAP * step]
    step = float(kept.mean())
    count = float(time[-1] - time[0]) / step + 1
    if count > MOST_MISSING * time.size:
        raise InputError(
            f"{given.place}: time runs over {time[-1] - time[0]:g} s in steps of {step:g} s, expected "
            f"{count:.4g} samples and got {time.size}. Most are missing: check the time column."
        )
    even = time[0] + step * np.arange(round(count))
    gaps = np.flatnonzero(steps >= GAP * step)
    notes = [f"{1 / step:.4g} samples a second, from the time column."]
    if given.claimed_rate and abs(given.claimed_rate * step - 1) > RATES_AGREE:
        notes.append(f"The file claims {given.claimed_rate:g} a second; the time column is believed.")
    missing = np.zeros(even.size, dtype=bool)
    for gap in gaps:
        missing |= (even > time[gap]) & (even < time[gap + 1])
    if gaps.size:
        notes.append(
            f"{gaps.size} gap{'s' if gaps.size > 1 else ''} in the time column, the first after "
            f"{time[gaps[0]]:.4g} s; strokes with a gap are dropped."
        )
    if even.size == time.size and np.abs(time - even).max() <= UNEVEN * step:
        return EvenSamples(
            rate=1 / step,
            displacement=recording.displacement,
            force=recording.force,
            missing=missing,
            notes=tuple(notes),
        )
    if not gaps.size:
        notes.append("The times are uneven; samples are interpolated to even ones.")
    return EvenSamples(
        rate=1 / step,
        displacement=np.interp(even, time, recording.displacement),
        force=np.interp(even, time, recording.force),
        missing=missing,
        notes=tuple(notes),
    )
