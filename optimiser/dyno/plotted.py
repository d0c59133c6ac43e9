"""Peaks and branches of a continuous plot: rows of velocity and force that follow the shaft."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Final

import numpy as np

from optimiser.dyno.given import Floats
from optimiser.dyno.run import Branch, DynoPoint
from optimiser.dyno.stroke_points import SHARES

PEAK_SHARE: Final = 0.97
"""Rows at least so fast, beside the fastest of their stroke, are its peak. [-]"""


def plotted(velocity: Floats, force: Floats) -> tuple[list[DynoPoint], list[str]]:
    """Points and what is said of them.

    Parameters
    ----------
    velocity, force : in the order of the file, positive in compression (rows,). [m/s], [N]
    """
    found: dict[tuple[float, Branch, int], list[float]] = {}
    peaks: dict[float, list[float]] = {1.0: [], -1.0: []}
    strokes = _strokes(velocity)
    for part in strokes:
        sign = float(np.sign(velocity[part][len(velocity[part]) // 2]))
        speed, own = sign * velocity[part], force[part]
        peak = int(np.argmax(speed))
        peaks[sign].append(float(speed[peak]))
        top = own[speed >= PEAK_SHARE * speed[peak]]
        found.setdefault((sign, Branch.PEAK, 0), []).append(float(top.mean()))
        for branch, way in (
            (Branch.SPEEDING_UP, slice(None, peak + 1)),
            (Branch.SLOWING_DOWN, slice(None, peak - 1 if peak else None, -1)),
        ):
            for number, value in _crossings(speed[way], own[way], float(speed[peak])):
                found.setdefault((sign, branch, number), []).append(value)
    points = []
    for (sign, branch, number), values in found.items():
        share = 1.0 if branch is Branch.PEAK else SHARES[number]
        forces = np.array(values)
        points.append(
            DynoPoint(
                velocity=sign * share * float(np.mean(peaks[sign])),
                force=float(forces.mean()),
                spread=float(forces.std(ddof=1)) if forces.size > 1 else 0.0,
                cycles=forces.size,
                branch=branch,
            )
        )
    words = (
        f"A continuous plot of {len(strokes)} strokes without a time column: the rows are taken to follow "
        "the shaft, and points off the peak keep their branch."
    )
    return points, [words]


def _strokes(velocity: Floats) -> list[slice]:
    """Stretches of one sign that have a peak inside: the shaft was slower before and after it."""
    changes = np.flatnonzero(np.diff(np.sign(velocity)) != 0) + 1
    bounds = [0, *changes.tolist(), velocity.size]
    parts = [slice(a, b) for a, b in itertools.pairwise(bounds) if b - a >= 5]
    fastest = float(np.abs(velocity).max())
    return [
        part
        for part in parts
        if 0 < int(np.argmax(np.abs(velocity[part]))) < part.stop - part.start - 1
        and np.abs(velocity[part]).max() > 0.5 * fastest
    ] or [slice(0, velocity.size)]


def _crossings(speed: Floats, force: Floats, peak: float) -> Iterator[tuple[int, float]]:
    """Number of each share of the peak velocity that is passed, and the force there."""
    for number, share in enumerate(SHARES):
        rising = speed >= share * peak
        above = int(np.argmax(rising))
        if above == 0:
            continue
        weight = (share * peak - speed[above - 1]) / (speed[above] - speed[above - 1])
        yield number, float(force[above - 1] + weight * (force[above] - force[above - 1]))
