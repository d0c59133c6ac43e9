"""By how much an unknown figure moved, as a person says it."""

from __future__ import annotations

import math

from damping_model.units import MICROMETRE
from optimiser.unknowns.unknown import Move, Unknown


def moved_by(unknown: Unknown, draw: float) -> str:
    """How far a draw moves a figure: a factor in percent, a shift in its own unit.

    >>> area = Unknown(owner="bleed", figure="diameter", words="diameter", uncertainty=0.02)
    >>> moved_by(area, 2.0), moved_by(area, -1.0)
    ('+4.1 %', '-2.0 %')
    """
    if unknown.move is Move.FACTOR:
        return f"{100 * math.expm1(unknown.uncertainty * draw):+.1f} %"
    shift = unknown.uncertainty * draw
    if unknown.figure == "needle":
        return f"{shift:+.2f} clicks"
    if unknown.figure == "temperature":
        return f"{shift:+.1f} K"
    return f"{shift / MICROMETRE:+.1f} µm"
