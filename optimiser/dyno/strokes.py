"""Strokes of a recording: from one end of the travel to the other, with the velocity on the way."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.dyno.given import Floats
from optimiser.dyno.sampling import EvenSamples

SMOOTHED: Final = 1 / 14
"""Length that the velocity is smoothed over, in full turns of the motion. [-]"""

CUBIC: Final = 3
"""Degree of the polynomials that smooth: a cubic keeps the velocity of a sine to a part in ten thousand."""

REVERSED: Final = 0.1
"""Of the whole travel has to be gone back before the shaft counts as reversed. [-]"""


FEWEST_SAMPLES: Final = 10
"""In a stroke: with fewer the velocity in its middle is not to be had within a per cent."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrokeSpan:
    """One way from end to end.

    Parameters
    ----------
    first, last : samples at its two ends.
    sign : 1 where the displacement rises.
    """

    first: int
    last: int
    sign: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Motion:
    """Where the shaft goes.

    Parameters
    ----------
    rate : samples a second.
    displacement, velocity, force : (samples,). [m], [m/s], [N]
    strokes : whole ones, in order, without those that have a gap or too few samples.
    gapped, sparse : how many were left out because of either.
    """

    rate: float
    displacement: Floats
    velocity: Floats
    force: Floats
    strokes: tuple[StrokeSpan, ...]
    gapped: int
    sparse: int


def motion_of(samples: EvenSamples) -> Motion:
    """Velocity and strokes of a recording; without strokes when the shaft never reverses twice."""
    from scipy.signal import savgol_filter  # noqa: PLC0415 (takes longest to load of all, and few jobs have runs)

    ends = _ends(samples.displacement)
    lengths = np.diff(ends)
    turn = 2 * float(np.median(lengths)) if lengths.size else float(samples.displacement.size)
    window = max(5, 2 * int(SMOOTHED * turn / 2) + 1)
    velocity = savgol_filter(
        samples.displacement,
        min(window, 2 * ((samples.displacement.size - 1) // 2) + 1),
        CUBIC,
        deriv=1,
        delta=1 / samples.rate,
    )
    strokes = [
        StrokeSpan(
            first=int(a), last=int(b), sign=float(np.sign(samples.displacement[b] - samples.displacement[a]))
        )
        for a, b in itertools.pairwise(ends)
    ]
    whole = [one for one in strokes if not samples.missing[one.first : one.last + 1].any()]
    dense = tuple(one for one in whole if one.last - one.first >= FEWEST_SAMPLES)
    return Motion(
        rate=samples.rate,
        displacement=samples.displacement,
        velocity=np.asarray(velocity),
        force=samples.force,
        strokes=dense,
        gapped=len(strokes) - len(whole),
        sparse=len(whole) - len(dense),
    )


def cycles_of(strokes: Sequence[StrokeSpan]) -> list[int]:
    """Places of the strokes that begin a cycle: one there, the one back right behind it, none used twice."""
    starts: list[int] = []
    for place, (one, other) in enumerate(itertools.pairwise(strokes)):
        if one.last == other.first and (not starts or place > starts[-1] + 1):
            starts.append(place)
    return starts


def _ends(displacement: Floats) -> NDArray[np.intp]:
    """Samples at which the shaft reverses, without the two at which the recording begins and ends."""
    back = REVERSED * float(np.ptp(displacement))
    ends: list[int] = []
    low = high = 0
    rising = 0
    for index, place in enumerate(displacement.tolist()):
        if place > displacement[high]:
            high = index
        if place < displacement[low]:
            low = index
        if rising >= 0 and place < displacement[high] - back:
            ends.extend([high] if rising else [])
            rising, low = -1, index
        elif rising <= 0 and place > displacement[low] + back:
            ends.extend([low] if rising else [])
            rising, high = 1, index
    return np.array(ends, dtype=np.intp)
