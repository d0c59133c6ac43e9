"""The two strokes of a curve, and an axis of velocity spread towards its low end."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from optimiser.model.goal import Window
from optimiser.report.sheet import CurveLine
from optimiser.report.unit_system import UnitSystem

Stroke = Literal["compression", "rebound"]
STROKES: Final[tuple[Stroke, Stroke]] = ("compression", "rebound")

TICKS: Final = {
    UnitSystem.METRIC: (0, 0.05, 0.15, 0.3, 0.6, 1, 1.5, 2, 3, 4, 6, 8),
    UnitSystem.IMPERIAL: (0, 2, 6, 12, 24, 40, 60, 80, 120, 160, 240, 320),
}


def ticks_of(units: UnitSystem, last: float) -> list[float]:
    """Velocities to write along an axis that ends at ``last``, in the units' own numbers."""
    return [tick for tick in TICKS[units] if tick <= last * (1 + 1e-9)]


def stroke_of(window: Window) -> Stroke:
    """The stroke that a window lies in."""
    return "compression" if window.velocities[0] >= 0 else "rebound"


def has_stroke(line: CurveLine, stroke: Stroke) -> bool:
    """Whether a line has enough points in a stroke to be drawn there."""
    return bool(points_of(line, stroke)[0].size > 1)


def points_of(line: CurveLine, stroke: Stroke) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Speeds [m/s], not negative and rising, and forces [N] of one stroke."""
    velocity = np.asarray(line.velocities, dtype=np.float64)
    force = np.asarray(line.forces, dtype=np.float64)
    own = velocity >= 0 if stroke == "compression" else velocity <= 0
    order = np.argsort(np.abs(velocity[own]), kind="stable")
    return np.abs(velocity[own])[order], force[own][order]


def fastest(lines: Sequence[CurveLine], stroke: Stroke) -> float:
    """Greatest speed of any line in a stroke. [m/s]"""
    return max(float(points_of(line, stroke)[0].max()) for line in lines if has_stroke(line, stroke))
