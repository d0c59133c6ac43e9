"""What a dyno measured in a band of velocity, and how far a band moved from one day's runs to another's."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from optimiser.dyno.run import DynoRun
from optimiser.model.goal import mean_weights

Floats = NDArray[np.float64]

RUN_TO_RUN: Final = 0.008
"""Standard deviation of a damper's force from one run of a setting to the next, before runs say otherwise.

The upper end of the 0.0 to 0.8 % that recordings of a race damper have. [-]
"""

RUNS_OF_PRIOR: Final = 4
"""Differences between runs that this counts as much as. [-]"""

ALIKE: Final = 0.02
"""Velocities closer than this share are one. [-]"""

BEYOND: Final = 0.05
"""A force is carried past the last measured velocity by this share of it, no further. [-]"""

WARMER: Final = 5.0
"""Runs further apart in temperature than this are not laid over one another. [K]"""

LEAST_OF_BAND: Final = 0.5
"""Share of a band, over the logarithm of velocity, that runs have to reach. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class MeasuredForces:
    """Damping force on the dyno at asked velocities.

    Parameters
    ----------
    logs : logarithm of the force against the motion, nan where no run reaches (velocities,). [log N]
    uncertainty : standard uncertainty of each of those, all runs together. [-]
    """

    logs: Floats
    uncertainty: float


def measured_forces(runs: Sequence[DynoRun], velocities: Floats) -> MeasuredForces:
    """Damping force at velocities between those that runs were measured at, all runs together.

    Only steady points count. Points of nearly one velocity are taken together; between them the force follows
    a smooth curve of its logarithm over that of velocity.

    Parameters
    ----------
    runs : of one damper at one setting; each may hold one velocity or many.
    velocities : positive in compression. [m/s]
    """
    logs = np.full(velocities.size, np.nan)
    squares, freedom, most = 0.0, 0, 1
    for sign in (1.0, -1.0):
        groups = _groups(runs, sign)
        for group in groups:
            squares += float(((group[:, 1] - group[:, 1].mean()) ** 2).sum())
            freedom += len(group) - 1
            most = max(most, len(group))
        asked = np.flatnonzero(velocities * sign > 0)
        if len(groups) < 2 or not asked.size:
            continue
        speeds, forces = np.array([group.mean(axis=0) for group in groups]).T
        at = np.log(np.abs(velocities[asked]))
        inside = (at >= speeds[0] - BEYOND) & (at <= speeds[-1] + BEYOND)
        logs[asked[inside]] = PchipInterpolator(speeds, forces)(at[inside])
    # A run is off as a whole, so its points say no more than one of them does about how runs differ.
    told = most - 1
    between = squares / freedom if freedom else 0.0
    spread = math.sqrt((told * between + RUNS_OF_PRIOR * RUN_TO_RUN**2) / (told + RUNS_OF_PRIOR))
    return MeasuredForces(logs, spread / math.sqrt(most))


def _groups(runs: Sequence[DynoRun], sign: float) -> list[Floats]:
    """Logarithms of speed and of damping force of one stroke's steady points, those of one speed together."""
    points = sorted(
        (math.log(abs(point.velocity)), math.log(force))
        for run in runs
        for point in run.peaks
        if point.sign == sign and (force := sign * run.damping_force(point)) > 0
    )
    groups: list[list[tuple[float, float]]] = []
    for one in points:
        if groups and one[0] - groups[-1][0][0] < ALIKE:
            groups[-1].append(one)
        else:
            groups.append([one])
    return [np.array(group) for group in groups]


@dataclass(frozen=True, slots=True)
class BandMove:
    """How far a band moved on the dyno.

    Parameters
    ----------
    average : average change over the logarithm of velocity, as a logarithm. [-]
    uncertainty : standard uncertainty of it. [-]
    share : of the band, over the logarithm of velocity, that both sides' runs reach. [-]
    """

    average: float
    uncertainty: float
    share: float


def band_move(before: MeasuredForces, after: MeasuredForces, velocities: Sequence[float]) -> BandMove | None:
    """Average change of one band; None when the runs reach too little of it.

    Parameters
    ----------
    before, after : at the band's velocities.
    velocities : of the band, in rising order of speed. [m/s]
    """
    weights = mean_weights(velocities)
    moved = after.logs - before.logs
    known = np.isfinite(moved)
    share = float(weights[known].sum())
    if share < LEAST_OF_BAND:
        return None
    average = float(moved[known] @ weights[known]) / share
    return BandMove(average, math.hypot(before.uncertainty, after.uncertainty), share)


@dataclass(frozen=True, slots=True)
class Matched:
    """Runs that may be laid over one another, and why others may not.

    Parameters
    ----------
    runs : those.
    left_out : for each other run a sentence.
    """

    runs: tuple[DynoRun, ...]
    left_out: tuple[str, ...]


def at_setting(
    runs: Sequence[DynoRun], *, clicks: Mapping[str, int], temperature: float | None = None
) -> Matched:
    """The runs at one setting of the clickers, and near one temperature.

    Parameters
    ----------
    runs : of one damper.
    clicks : clicks out; a run that does not say where a clicker was counts as there.
    temperature : of the damper, where it matters. [K]
    """
    kept, left_out = [], []
    for run in runs:
        turned = [name for name, at in run.clicks.items() if clicks.get(name, at) != at]
        apart = None if None in {temperature, run.temperature} else abs(run.temperature - temperature)  # type: ignore[operator]
        if turned:
            was = ", ".join(f"{name} {run.clicks[name]} out instead of {clicks[name]}" for name in turned)
            left_out.append(f"{run.name}: left out, {was}.")
        elif not run.peaks:
            left_out.append(f"{run.name}: left out, it has no steady point at a peak of velocity.")
        elif apart is not None and apart > WARMER:
            left_out.append(f"{run.name}: left out, {apart:.0f} K from the other runs.")
        else:
            kept.append(run)
    return Matched(tuple(kept), tuple(left_out))
