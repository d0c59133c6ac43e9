"""Points of a linkage as people measure them: refused, with the place, where they make no curve."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from damping_model.errors import GeometryError

LARGEST_RATIO = 20.0
"""Wheel over shaft beyond this is a slip of the unit, not a linkage; so is its reciprocal."""


def points(
    what: str, wheel: Sequence[float], values: Sequence[float]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Wheel travel [m] and what was measured at each, as arrays."""
    x, y = np.asarray(wheel, dtype=float), np.asarray(values, dtype=float)
    if x.ndim != 1 or x.shape != y.shape or x.size < 2:
        raise GeometryError(
            f"got {x.size} wheel travels and {y.size} points of {what}, "
            "expected as many of each, at least two."
        )
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        raise GeometryError(
            f"got a point of {what} that is not a number, expected finite numbers throughout."
        )
    rises("wheel travel", x)
    return x, y


def rises(what: str, values: NDArray[np.float64]) -> None:
    """Refuse travel [m] that does not rise from point to point."""
    steps = np.diff(values)
    if not (steps > 0).all():
        place = int((steps <= 0).argmax())
        raise GeometryError(
            f"the leverage curve runs backwards: {what} goes from {values[place] * 1e3:g} to "
            f"{values[place + 1] * 1e3:g} mm, expected it to rise from point to point. "
            "Put the points in order of travel, or mend the one that is wrong."
        )


def starts_extended(what: str, values: NDArray[np.float64]) -> None:
    """Refuse travel [m] that does not begin at full extension."""
    if values[0] != 0:
        raise GeometryError(
            f"got a leverage curve that starts at a {what} of {values[0] * 1e3:g} mm, expected 0: "
            "full extension. Add the point at 0."
        )


def plausible(wheel: NDArray[np.float64], leverage_ratio: NDArray[np.float64]) -> None:
    """Refuse a leverage ratio [-] that no linkage has, at a wheel travel [m]."""
    good = (leverage_ratio > 1 / LARGEST_RATIO) & (leverage_ratio < LARGEST_RATIO)
    if not good.all():
        place = int((~good).argmax())
        raise GeometryError(
            f"got wheel over shaft {leverage_ratio[place]:g} at {wheel[place] * 1e3:g} mm of wheel travel, "
            f"expected {1 / LARGEST_RATIO:g} to {LARGEST_RATIO:g}. Check the units, and which way round "
            "the ratio is meant."
        )
