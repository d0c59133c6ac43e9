"""Points of a run from its strokes: the peak, read where the rig's give does not count, and the branches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from optimiser.dyno.given import Floats
from optimiser.dyno.run import Branch, DynoPoint
from optimiser.dyno.strays import strays
from optimiser.dyno.stroke_points import SHARES, StrokePoints

LOW_PEAK: Final = 0.005
"""A peak that reads lower than the damper by more is read at the top of the force instead. [-]"""

SURE: Final = 3.0
"""Standard errors that a gap between branches has to exceed."""


def points_of(
    strokes: Sequence[StrokePoints], *, offset: float, at_middle: bool
) -> tuple[list[DynoPoint], list[str]]:
    """Points of strokes of one kind at one speed, and what is said of them.

    Parameters
    ----------
    strokes : in the order of the run; at least one.
    offset : about which the forces of both strokes lie, to tell how large a gap is. [N]
    at_middle : whether the force is to be read at a place that a person says, whatever the rig gives.

    Notes
    -----
    At mid-stroke a rig that gives takes part of the velocity, so the force is that of a slower shaft. Where
    the force is greatest it stands still, so force and velocity there belong together, whatever it gives.
    """
    velocity = float(np.mean([one.velocity for one in strokes]))
    if np.mean([one.steady for one in strokes]) > 0.5:
        return [_peak(strokes, top=False)], []
    branches = list(_branches(strokes, velocity))
    apart = _apart(branches, offset)
    low = float(np.sin(np.arctan(apart / (2 * np.tan(np.arccos(SHARES[-1]))))) ** 2)
    if low <= LOW_PEAK or at_middle:
        return [_peak(strokes, top=False), *branches], []
    peak = _peak(strokes, top=True)
    stroke = "compression" if velocity > 0 else "rebound"
    said = (
        f"At {abs(velocity):.3g} m/s in {stroke} the branches lie {100 * apart:.0f} % apart at "
        f"{100 * SHARES[-1]:g} % of the peak: rig or oil gives, and mid-stroke would read some "
        f"{100 * low:.2g} % low. The force is read at its top instead, at {abs(peak.velocity):.3g} m/s, "
        "where what gives stands still."
    )
    return [peak, *branches], [said]


def _peak(strokes: Sequence[StrokePoints], *, top: bool) -> DynoPoint:
    velocities = np.array([one.top_velocity if top else one.velocity for one in strokes])
    forces = np.array([one.top_force if top else one.force for one in strokes])
    kept = ~strays(forces)
    return _point(float(velocities[kept].mean()), forces[kept], Branch.PEAK)


def _branches(strokes: Sequence[StrokePoints], velocity: float) -> Iterator[DynoPoint]:
    for branch in (Branch.SPEEDING_UP, Branch.SLOWING_DOWN):
        rows = np.array([one.up if branch is Branch.SPEEDING_UP else one.down for one in strokes])
        for share, column in zip(SHARES, rows.T, strict=True):
            known = column[np.isfinite(column)]
            if known.size:
                yield _point(share * velocity, known[~strays(known)], branch)


def _apart(branches: Sequence[DynoPoint], offset: float) -> float:
    """Gap that there surely is between the branches nearest to the peak, as a share of their mean. [-]

    For a force in line with velocity that lags by an angle a, the branches at a share s of the peak lie apart
    by 2 tan(arccos s) tan(a) of their mean, and the force at mid-stroke is low by the square of sin(a).
    """
    nearest = [
        max(own, key=lambda point: abs(point.velocity))
        for branch in (Branch.SPEEDING_UP, Branch.SLOWING_DOWN)
        if (own := [point for point in branches if point.branch is branch])
    ]
    if len(nearest) < 2:
        return 0.0
    middle = abs((nearest[0].force + nearest[1].force) / 2 - offset)
    error = float(np.hypot(*(point.spread / np.sqrt(point.cycles) for point in nearest)))
    return max(0.0, abs(nearest[0].force - nearest[1].force) - SURE * error) / max(middle, 1e-9)


def _point(velocity: float, forces: Floats, branch: Branch) -> DynoPoint:
    spread = float(forces.std(ddof=1)) if forces.size > 1 else 0.0
    return DynoPoint(
        velocity=velocity, force=float(forces.mean()), spread=spread, cycles=forces.size, branch=branch
    )
