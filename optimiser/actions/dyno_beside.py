"""Dyno runs beside the damper's file: the model's curves at their settings, and what looks like a slip."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from damping_model.damper.force import force_curve
from optimiser.documents.curve import POINTS, SLOWEST
from optimiser.dyno.beside_model import beside_model, slips
from optimiser.dyno.run import DynoRun
from optimiser.model.damper_description import DamperDescription
from optimiser.report.plan_sheet import curve_line
from optimiser.report.sheet import CurveLine

MOST_LINES: Final = 4
"""Curves of the model below the points; with more settings none is drawn."""


def beside(described: DamperDescription, runs: Sequence[DynoRun]) -> tuple[list[CurveLine], tuple[str, ...]]:
    """Curves of the model at the runs' settings, and what looks like a slip beside them.

    Parameters
    ----------
    described : the damper.
    runs : of it.

    Raises
    ------
    ModelError
        When the damper cannot be computed.
    """
    found = [one for run in runs for one in beside_model(described.damper, run)]
    fastest = max(abs(point.velocity) for run in runs for point in run.points)
    speeds = np.geomspace(min(SLOWEST, fastest / 2), fastest, POINTS)
    settings = {tuple(sorted(run.clicks.items())): run for run in runs}
    lines = []
    for clicks, run in settings.items() if len(settings) <= MOST_LINES else ():
        curve = force_curve(
            described.damper,
            velocities=np.concatenate([-speeds[::-1], speeds]),
            temperature=run.temperature,
            clicks=run.clicks,
        )
        words = ", ".join(f"{name} {position} out" for name, position in clicks)
        lines.append(curve_line(f"{described.name}, its file{f', {words}' if words else ''}", curve))
    return lines, tuple(slips(found))
