"""Points that a dyno measured, as drawings of curves take them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from optimiser.dyno.run import DynoRun
from optimiser.report.sheet import CurveLine


def measured_points(
    runs: Sequence[DynoRun], *, clicks: Mapping[str, int] | None = None, fastest: float | None = None
) -> list[CurveLine]:
    """Steady points of runs, those of one setting together.

    Parameters
    ----------
    runs : of one damper.
    clicks : where its adjusters stand, clicks out; runs at other clicks are left out. All runs without it.
    fastest : points beyond it are left out, so that they do not widen a drawing. [m/s]
    """
    found: dict[str, list[tuple[float, float]]] = {}
    for run in runs:
        if clicks is not None and any(clicks.get(name, at) != at for name, at in run.clicks.items()):
            continue
        setting = ", ".join(f"{name} {at} out" for name, at in run.clicks.items())
        points = found.setdefault(f"measured, {setting}" if setting else "measured", [])
        points += [
            (point.velocity, point.sign * run.damping_force(point))
            for point in run.peaks
            if fastest is None or abs(point.velocity) <= fastest
        ]
    return [
        CurveLine(name, tuple(v for v, _ in sorted(points)), tuple(f for _, f in sorted(points)))
        for name, points in found.items()
        if points
    ]
