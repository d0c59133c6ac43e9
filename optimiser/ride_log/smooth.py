"""Filtered travel and its velocity: a low-pass without delay, and the slope of a spline through it."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from scipy.interpolate import make_interp_spline
from scipy.ndimage import uniform_filter1d
from scipy.signal import butter, sosfiltfilt, welch

from optimiser.ride_log.trace import CUT_OFF, CUT_OFF_SHARE, Flags, Floats

ORDER: Final = 2
"""Of the filter in each direction; run there and back it is of the fourth."""

NOISE: Final = 0.008
"""Velocity that noise may leave where nothing fast happens, root mean square. [m/s]"""

QUIET: Final = 0.8
"""Of the frequencies that a rate can hold, from which on there is only noise. [-]"""

LOWEST: Final = 10.0
"""Cut-off that is never gone below; common practice, no source. [Hz]"""

NEARBY: Final = 0.08
"""Stretch over which what is fast is held against noise. [s]"""

SHORTEST: Final = 0.25
"""A stretch between two gaps that is shorter is left out. [s]"""


@dataclass(frozen=True, slots=True)
class CutOff:
    """Frequencies above which nothing is kept.

    Parameters
    ----------
    fast : where something fast happens. [Hz]
    calm : where only noise lies above it; the same as ``fast`` for one filter all over. [Hz]
    noise : density of the noise. [m^2 s]
    """

    fast: float
    calm: float
    noise: float = 0.0


def chosen_cut_off(travel: Floats, *, rate: float) -> CutOff:
    r"""Cut-offs that keep all of a wheel's motion where it is fast, and little noise where it is not.

    Parameters
    ----------
    travel : at even times (samples,). [m]
    rate : samples a second. [1/s]

    Notes
    -----
    Noise is taken to be as large at every frequency as in the highest fifth that the rate can hold, where
    no wheel moves. Of a density :math:`S` the velocity keeps
    :math:`\sigma_v^2 = \int_0^{f_c} (2\pi f)^2 S\,df = 4\pi^2 S f_c^3/3`.
    """
    fast = min(CUT_OFF, CUT_OFF_SHARE * rate)
    frequencies, density = welch(travel, fs=rate, nperseg=min(256, travel.size), average="median")
    noise = float(np.median(density[frequencies >= QUIET * rate / 2]))
    if noise <= 0:
        return CutOff(fast, fast)
    allowed = (3 * NOISE**2 / (4 * np.pi**2 * noise)) ** (1 / 3)
    return CutOff(fast, float(min(fast, max(allowed, LOWEST))), noise)


def smoothed(travel: Floats, *, rate: float, cut_off: CutOff) -> tuple[Floats, Floats]:
    r"""Travel without what is above the cut-off (samples,) [m], and its velocity (samples,) [m/s].

    Parameters
    ----------
    travel : at even times, without gaps (samples,). [m]
    rate : samples a second. [1/s]
    cut_off : where half of a swing is left, as the filter runs twice.

    Notes
    -----
    Butterworth's low-pass of second order, run forwards and backwards, so that nothing is delayed [1]_. What
    lies between the two cut-offs is scaled so that its variance nearby is what noise does not explain of it
    (power subtraction [2]_), so that shares of time stay right. The velocity is the slope of the quintic
    spline through the filtered samples: differences of neighbours would take
    :math:`1-\sin(\omega h)/(\omega h)` off a swing, a quarter of one at a fifth of the sample rate.

    References
    ----------
    .. [1] F. Gustafsson, "Determining the initial states in forward-backward filtering", IEEE Trans. Signal
       Processing 44 (1996) 988-992.
    .. [2] R. J. McAulay and M. L. Malpass, "Speech enhancement using a soft-decision noise suppression
       filter", IEEE Trans. Acoustics, Speech, Signal Processing 28 (1980) 137-145.
    """
    filtered = low_passed(travel, rate=rate, cut_off=cut_off.fast)
    if cut_off.calm < cut_off.fast:
        slow = low_passed(travel, rate=rate, cut_off=cut_off.calm)
        between = filtered - slow
        size = max(int(NEARBY * rate), 3)
        found = uniform_filter1d(np.gradient(between, 1 / rate) ** 2, size)
        noise = 4 * np.pi**2 * cut_off.noise * (cut_off.fast**3 - cut_off.calm**3) / 3
        kept = np.sqrt(np.clip(1 - noise / np.maximum(found, 1e-12), 0.0, 1.0))
        filtered = slow + uniform_filter1d(kept, size) * between
    times = np.arange(travel.size) / rate
    slope: Floats = make_interp_spline(times, filtered, k=5).derivative()(times)
    return filtered, slope


def low_passed(values: Floats, *, rate: float, cut_off: float) -> Floats:
    """Values without what is above a cut-off [Hz], without delay (samples,)."""
    found: Floats = sosfiltfilt(butter(ORDER, cut_off, fs=rate, output="sos"), values)
    return found


def stretches(flags: Flags) -> list[tuple[int, int]]:
    """First sample and the one behind the last of every stretch that is flagged.

    Examples
    --------
    >>> stretches(np.array([False, True, True, False, True]))
    [(1, 3), (4, 5)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [(int(first), int(last)) for first, last in pairwise(edges)][::2]
