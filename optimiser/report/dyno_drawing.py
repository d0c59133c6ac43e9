"""Measured points drawn in the terminal: peaks, the two branches, and the model's line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import plotext

from optimiser.dyno.run import Branch, DynoRun
from optimiser.report.printable import printable
from optimiser.report.sheet import CurveLine
from optimiser.report.strokes import STROKES, Stroke, has_stroke, points_of
from optimiser.report.terminal import COLOURS, LEAST_WIDTH, along
from optimiser.report.terminal_figure import begun, ended, force_ticks
from optimiser.report.unit_system import UnitSystem

PEAKS: Final = ("o", "x", "#", "+", "*", "@", "=", "%", "&", "$")
"""One for each setting; with more of them than this they are used again."""

BRANCHES: Final = {Branch.SPEEDING_UP: "<", Branch.SLOWING_DOWN: ">"}
LINE: Final = "."


def dyno_drawing(
    runs: Sequence[DynoRun],
    lines: Sequence[CurveLine],
    *,
    units: UnitSystem,
    width: int,
    colour: bool,
    height: int = 18,
) -> str:
    """Damping force against the motion over shaft velocity, one panel a stroke.

    Parameters
    ----------
    runs : measured.
    lines : of the model.
    units : what the axes are written in.
    width, height : of one panel, in characters.
    colour : whether to colour.
    """
    marks = _marks(runs)
    parts = [
        _panel(runs, lines, stroke, marks, units, (max(width, LEAST_WIDTH), height), colour=colour)
        for stroke in STROKES
        if any(point.sign == _sign(stroke) for run in runs for point in run.points)
    ]
    parts.extend(f"{mark}  {printable(name)}" for name, mark in dict(marks).items())
    if any(point.branch is not Branch.PEAK for run in runs for point in run.points):
        parts.append("<  off the peak, speeding up;  >  slowing down: lag and give of the rig are in these")
    parts.extend(f"{LINE}  {printable(line.name)}" for line in lines)
    return "\n".join(parts)


def _sign(stroke: Stroke) -> float:
    return 1.0 if stroke == "compression" else -1.0


def _setting(run: DynoRun) -> str:
    """What tells runs apart besides their speed."""
    clicks = ", ".join(f"{name} {position} out" for name, position in run.clicks.items())
    return clicks or "measured"


def _marks(runs: Sequence[DynoRun]) -> list[tuple[str, str]]:
    names = list(dict.fromkeys(_setting(run) for run in runs))
    return [(name, PEAKS[number % len(PEAKS)]) for number, name in enumerate(names)]


def _panel(
    runs: Sequence[DynoRun],
    lines: Sequence[CurveLine],
    stroke: Stroke,
    marks: Sequence[tuple[str, str]],
    units: UnitSystem,
    size: tuple[int, int],
    *,
    colour: bool,
) -> str:
    title = f"{stroke}: force, {units.force_unit}, against shaft velocity, {units.velocity_unit}"
    figure = begun(title, size)
    sign, of_setting = _sign(stroke), dict(marks)
    drawn: list[tuple[float, float, str]] = []
    peaks: list[tuple[float, float, str]] = []
    for run in runs:
        for point in run.points:
            if point.sign == sign:
                place = along(abs(point.velocity), units)
                up = units.force(sign * run.damping_force(point))
                if point.branch is Branch.PEAK:
                    peaks.append((place, up, of_setting[_setting(run)]))
                else:
                    drawn.append((place, up, BRANCHES[point.branch]))
    fastest = max(abs(point.velocity) for run in runs for point in run.points if point.sign == sign)
    for line in lines:
        if has_stroke(line, stroke):
            speed, force = points_of(line, stroke)
            fine = np.linspace(0, np.sqrt(fastest), 3 * size[0]) ** 2
            fine = fine[fine >= speed.min()]
            figure.draw(
                figure.signal(
                    [along(float(one), units) for one in fine],
                    [units.force(float(one)) for one in np.interp(fine, speed, force)],
                    marker=LINE,
                )
            )
    colours = {mark: COLOURS[number % len(COLOURS)] for number, (_, mark) in enumerate(marks)}
    for place, up, mark in [*drawn, *peaks]:
        shown = plotext.colorize(mark, colours[mark]) if colour and mark in colours else mark
        figure.draw(figure.signal([place], [up], marker=shown))
    highest = max(up for _, up, _ in [*drawn, *peaks])
    lowest = min(0.0, *(up for _, up, _ in [*drawn, *peaks]))
    force_ticks(figure, [lowest + share * (highest - lowest) for share in (0, 0.25, 0.5, 0.75, 1)])
    return ended(figure, units=units, fastest=fastest, coloured=colour)
