"""Figures among their like that are nothing like them, as a spike of the load cell makes them."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from optimiser.dyno.given import Floats

FEWEST: Final = 4
"""Figures of a kind, to say of one that it strays."""

DEVIATIONS: Final = 10.0
"""Median deviations off the median at which one strays."""

SHARE: Final = 0.02
"""Of the median, that it has to be off at least. [-]"""


def strays(values: Floats) -> NDArray[np.bool_]:
    """Which of the figures stray from the rest (values,).

    >>> strays(np.array([100.0, 100.4, 99.8, 100.1, 163.0]))
    array([False, False, False, False,  True])
    """
    if values.size < FEWEST:
        return np.zeros(values.size, dtype=bool)
    middle = float(np.median(values))
    off = np.abs(values - middle)
    return off > max(DEVIATIONS * float(np.median(off)), SHARE * abs(middle))
