"""Cycles that a damper needs to come to itself: those at the beginning, while its force still changes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from optimiser.dyno.given import Floats

BEFORE_READING: Final = 5
"""Cycles run before any is read, as a service manual asks, where there are as many again."""

STEADY: Final = 0.003
"""Change of force over the cycles that are read, at which it counts as settled. [-]"""

NOISE: Final = 2.0
"""Standard errors that a trend has to exceed."""

ENOUGH: Final = 20
"""Cycles that are left to read, where there are twice as many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmUp:
    """How many cycles are dropped.

    Parameters
    ----------
    dropped : at the beginning.
    kept : after them.
    change : of the force over the dropped cycles and the first that is kept. [-]
    left : change that is still going on over the cycles kept. [-]
    """

    dropped: int
    kept: int
    change: float
    left: float


def warm_up(sizes: Floats, *, settled: int | None = None) -> WarmUp:
    """Cycles to drop of a row of them at one speed.

    Parameters
    ----------
    sizes : half the range of the force in each cycle (cycles,). [N]
    settled : how many a person says; at least one is kept.
    """
    count = sizes.size
    if settled is not None:
        first = min(settled, count - 1)
    elif count >= 2 * BEFORE_READING:
        least, most = BEFORE_READING, count - max(BEFORE_READING, min(ENOUGH, count // 2))
        first = next((at for at in range(least, most) if _is_steady(sizes[at:])), max(least, most))
    else:
        first = 1 if count > 2 else 0
    kept = sizes[first:]
    level = float(kept.mean())
    return WarmUp(
        dropped=first,
        kept=count - first,
        change=float(kept[0] / sizes[0] - 1) if first and sizes[0] else 0.0,
        left=_trend(kept)[0] / level if level else 0.0,
    )


def _is_steady(sizes: Floats) -> bool:
    trend, error = _trend(sizes)
    return abs(trend) <= max(STEADY * float(sizes.mean()), NOISE * error)


def _trend(sizes: Floats) -> tuple[float, float]:
    """Change from the first to the last cycle along a straight line, and its standard error. [N]"""
    count = sizes.size
    if count < 3:
        return 0.0, 0.0
    place = np.linspace(-0.5, 0.5, count)
    slope = float((place * sizes).sum() / (place**2).sum())
    rest = sizes - sizes.mean() - slope * place
    return slope, float(np.sqrt((rest**2).sum() / (count - 2) / (place**2).sum()))
