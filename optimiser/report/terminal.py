"""Curves drawn in the terminal: every line has a character of its own, so that no colour is needed."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Final

import numpy as np
import plotext

from optimiser.model.goal import Goal
from optimiser.report.band_rows import marks
from optimiser.report.printable import printable
from optimiser.report.sheet import CurveLine
from optimiser.report.strokes import STROKES, Stroke, fastest, has_stroke, points_of, stroke_of
from optimiser.report.terminal_figure import begun, ended, force_ticks
from optimiser.report.unit_system import UnitSystem

MARKERS: Final = (".", "#", "o", "x", "+", "*", "@", "=", "%", "&", "~", "$")
COLOURS: Final = ("default", "cyan", "yellow", "magenta", "green", "red")
SPOTS: Final = ("O", "X", "Z", "Y")
"""Of measured points, one for each setting."""
BEYOND: Final = ":"
LEAST_WIDTH: Final = 40

SAME: Final = 1e-3
"""Lines that lie within this share of the first everywhere look like one. [-]"""


def force_text(
    lines: Sequence[CurveLine],
    *,
    units: UnitSystem,
    width: int,
    height: int = 18,
    goal: Goal | None = None,
    colour: bool | None = None,
    measured: Sequence[CurveLine] = (),
) -> str:
    """Force against shaft velocity as text, one panel a stroke, with the bands' letters and names below.

    A stroke that no window of a goal is about, and in which all lines are one, takes a line and no panel.

    Parameters
    ----------
    lines : in order; later ones are drawn over earlier ones.
    units : what the axes are written in.
    width, height : of one panel, in characters; narrower than 40 is drawn at 40.
    goal : windows whose edges and letters are drawn.
    colour : whether to colour; None asks the environment, where NO_COLOR forbids it.
    measured : what a dyno showed, as marks of their own.
    """
    coloured = not os.environ.get("NO_COLOR") if colour is None else colour
    width = max(width, LEAST_WIDTH)
    parts = []
    for stroke in STROKES:
        if _untouched(lines, stroke, goal):
            parts.append(f"{stroke}: not drawn, since nothing changes there by more than {100 * SAME:g} %")
        elif any(has_stroke(line, stroke) for line in lines):
            parts.append(_panel(lines, measured, stroke, units, (width, height), goal, coloured))
            parts.extend(_names(goal, stroke, units))
    parts.extend(
        f"{MARKERS[index % len(MARKERS)]}  {printable(' '.join(line.name.split()))}"
        for index, line in enumerate(lines)
    )
    parts.extend(
        f"{SPOTS[number % len(SPOTS)]}  {printable(points.name)}" for number, points in enumerate(measured)
    )
    if any(line.promised_to is not None for line in lines):
        parts.append(f"{BEYOND}  beyond what the model promises")
    return "\n".join(parts)


def _untouched(lines: Sequence[CurveLine], stroke: Stroke, goal: Goal | None) -> bool:
    """Whether a goal is about another stroke, and several lines look like one in this."""
    if len(lines) < 2 or goal is None or windows_of(goal, stroke):
        return False
    if not all(has_stroke(line, stroke) for line in lines):
        return False
    speed, force = points_of(lines[0], stroke)
    return all(
        np.allclose(np.interp(speed, *points_of(line, stroke)), force, rtol=SAME, atol=0.0)
        for line in lines[1:]
    )


def _panel(
    lines: Sequence[CurveLine],
    measured: Sequence[CurveLine],
    stroke: Stroke,
    units: UnitSystem,
    size: tuple[int, int],
    goal: Goal | None,
    coloured: bool,
) -> str:
    title = f"{stroke}: force, {units.force_unit}, against shaft velocity, {units.velocity_unit}"
    figure = begun(title, size)
    shown = [*(line for line in lines if has_stroke(line, stroke)), *measured]
    top = max(float(points_of(line, stroke)[1].max(initial=0.0)) for line in shown)
    for letter, low, high in windows_of(goal, stroke):
        for edge in {low, high}:
            figure.line(along(edge, units), orientation=1)
        figure.draw(figure.text(along(np.sqrt(low * high), units), units.force(top), letter))
    for index, line in enumerate(lines):
        if not has_stroke(line, stroke):
            continue
        speed, force = points_of(line, stroke)
        fine = np.linspace(0, np.sqrt(speed.max()), 4 * size[0]) ** 2
        fine = fine[fine >= speed.min()]
        marker = MARKERS[index % len(MARKERS)]
        if coloured:
            marker = plotext.colorize(marker, COLOURS[index % len(COLOURS)])
        places = np.sqrt(units.velocity(1.0) * fine)
        heights = units.force(1.0) * np.interp(fine, speed, force)
        promised = fine <= (np.inf if line.promised_to is None else line.promised_to)
        for part, sign in ((promised, marker), (~promised, BEYOND)):
            across, up = (list(map(float, values[part])) for values in (places, heights))
            figure.draw(figure.signal(across, up, marker=sign))
    for number, points in enumerate(measured):
        speed, force = points_of(points, stroke)
        spots = [along(float(one), units) for one in speed]
        tops = [units.force(float(one)) for one in force]
        figure.draw(figure.signal(spots, tops, marker=SPOTS[number % len(SPOTS)]))
    force_ticks(figure, [units.force(top) * share for share in (0, 0.25, 0.5, 0.75, 1)])
    return ended(figure, units=units, fastest=fastest(lines, stroke), coloured=coloured)


def along(speed: float, units: UnitSystem) -> float:
    """Place along the axis, which is spread towards low speed."""
    return float(np.sqrt(units.velocity(speed)))


def windows_of(goal: Goal | None, stroke: Stroke) -> list[tuple[str, float, float]]:
    """Letter, slowest and fastest speed of the bands that lie in a stroke. [m/s]"""
    windows = () if goal is None else goal.windows
    return [
        (mark, float(np.abs(window.velocities).min()), float(np.abs(window.velocities).max()))
        for mark, window in zip(marks(), windows, strict=False)
        if stroke_of(window) == stroke
    ]


def _names(goal: Goal | None, stroke: Stroke, units: UnitSystem) -> list[str]:
    named = {} if goal is None else dict(zip(marks(), goal.windows, strict=False))
    return [
        f"{mark}  {printable(' '.join(named[mark].name.split()))}: "
        f"{named[mark].role.value}, {units.span_text(low, high)}"
        for mark, low, high in windows_of(goal, stroke)
    ]
