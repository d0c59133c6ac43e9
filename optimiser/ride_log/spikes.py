"""Single samples that are nothing like their neighbours, as a loose plug makes them."""

from __future__ import annotations

from typing import Final

import numpy as np

from optimiser.ride_log.trace import Flags, Floats

USUAL: Final = 90.0
"""Of a hundred samples, those that tell how far one is usually off its neighbours. [-]"""

TIMES: Final = 8.0
"""Times as far off as that, at which one is a spike; common practice, no source. [-]"""

LEAST: Final = 2e-3
"""Nothing nearer is one. [m]"""

LONGEST: Final = 3
"""Samples that one spike takes at most."""

MARGIN: Final = 8
"""Samples by which a trace is mirrored at its ends."""

PASSES: Final = 3
"""In which spikes that lie close to one another come out one after another."""


def spikes(travel: Floats) -> Flags:
    """Which samples are spikes (samples,).

    One to three samples stick out of the line between those before and behind, which go on as if nothing had
    been: their slopes on both sides are that of the line, within half of what sticks out. A wheel that turns
    round or begins to move has different slopes before and behind, however fast it is.

    Parameters
    ----------
    travel : without samples that are missing (samples,). [m]

    Examples
    --------
    >>> flat = np.zeros(40)
    >>> flat[17] = 0.03
    >>> np.flatnonzero(spikes(flat))
    array([17])
    """
    if travel.size < 2 * MARGIN:
        return np.zeros(travel.size, dtype=bool)
    # Mirrored at its ends, so that the first and the last sample have neighbours on both sides.
    mirrored = np.pad(travel, MARGIN, mode="reflect")
    found = np.zeros(mirrored.size, dtype=bool)
    rest, at = mirrored, np.arange(mirrored.size)
    for _ in range(PASSES):
        limit = max(LEAST, TIMES * float(np.percentile(_sticking_out(rest, 1)[0], USUAL)))
        fresh = np.zeros(mirrored.size, dtype=bool)
        for width in range(1, LONGEST + 1):
            out, uneven = _sticking_out(rest, width)
            for first in np.flatnonzero((out > limit) & (uneven < out / 2)):
                fresh[first + 2 : first + 2 + width] = True
        if not (fresh & ~found).any():
            break
        found |= fresh
        rest = np.where(found, np.interp(at, at[~found], mirrored[~found]), mirrored)
    return found[MARGIN:-MARGIN]


def _sticking_out(travel: Floats, width: int) -> tuple[Floats, Floats]:
    """How far so many samples stick out of the line across them, and how uneven the slopes around are. [m]

    The first figure is about the samples from the third on.
    """
    count = travel.size - width - 3
    before, behind = travel[1 : 1 + count], travel[2 + width : 2 + width + count]
    slope = (behind - before) / (width + 1)
    off = np.array([travel[2 + one : 2 + one + count] - before - (one + 1) * slope for one in range(width)])
    out = np.where((off > 0).all(axis=0) | (off < 0).all(axis=0), np.abs(off).min(axis=0), 0.0)
    left = before - travel[:count]
    right = travel[3 + width : 3 + width + count] - behind
    return out, np.maximum(np.abs(left - slope), np.abs(right - slope))
