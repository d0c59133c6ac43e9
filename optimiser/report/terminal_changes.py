"""Changes drawn in the terminal: what a few per cent do, which curves of force laid over one another hide."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import plotext
from numpy.typing import NDArray

from optimiser.model.goal import Goal
from optimiser.report.curves import BELOW
from optimiser.report.printable import printable
from optimiser.report.sheet import CurveLine
from optimiser.report.strokes import STROKES, Stroke, fastest, has_stroke, points_of
from optimiser.report.terminal import (
    BEYOND,
    COLOURS,
    LEAST_WIDTH,
    MARKERS,
    along,
    windows_of,
)
from optimiser.report.terminal_figure import begun, ended
from optimiser.report.unit_system import UnitSystem

HEIGHT = 16
"""Of a panel, in characters."""

LEAST_SPAN = 1.0
"""A panel spans at least so much on either side of none. [%]"""

Floats = NDArray[np.float64]


def changes_text(
    lines: Sequence[CurveLine], *, units: UnitSystem, width: int, goal: Goal, colour: bool
) -> str:
    """Change of every other line in percent of the first against shaft velocity, one panel a stroke.

    Parameters
    ----------
    lines : the first is what the others are measured against; a stroke in which none differs has no panel.
    units : what the axis of velocity is written in.
    width : of a panel, in characters; narrower than 40 is drawn at 40.
    goal : bands whose edges and letters are drawn.
    colour : whether to colour.
    """
    parts = []
    for stroke in STROKES:
        changes = [change_of(lines[0], line, stroke) for line in lines[1:]]
        if any(change is not None and np.abs(change).max() >= 0.1 for change in changes):
            parts.append(_panel(lines, changes, stroke, units, max(width, LEAST_WIDTH), goal, colour))
    if not parts:
        return "No change of 0.1 % or more at any velocity."
    parts.extend(
        f"{MARKERS[index % len(MARKERS)]}  {printable(' '.join(line.name.split()))}"
        for index, line in enumerate(lines[1:], 1)
    )
    return "\n".join(parts)


def change_of(first: CurveLine, line: CurveLine, stroke: Stroke) -> Floats | None:
    """Change of a line in percent of the first at the first one's speeds; None where a stroke is missing."""
    if not (has_stroke(first, stroke) and has_stroke(line, stroke)):
        return None
    speed, old = points_of(first, stroke)
    if not (old > 0).all():
        return None
    return np.asarray(100 * (np.interp(speed, *points_of(line, stroke)) / old - 1))


def slowest_seen(goal: Goal) -> float:
    """Speed that changes are drawn from: at a crawl below all bands a bleed's per cents hide the rest."""
    slowest = min((abs(velocity) for window in goal.windows for velocity in window.velocities), default=0.0)
    return BELOW * slowest


def _panel(
    lines: Sequence[CurveLine],
    changes: Sequence[Floats | None],
    stroke: Stroke,
    units: UnitSystem,
    width: int,
    goal: Goal,
    coloured: bool,
) -> str:
    title = f"{stroke}: change from 1, %, against shaft velocity, {units.velocity_unit}"
    figure = begun(title, (width, HEIGHT))
    speed = points_of(lines[0], stroke)[0]
    seen = speed >= slowest_seen(goal)
    known = [change[seen] for change in changes if change is not None]
    low = min(-LEAST_SPAN, *(float(change.min()) for change in known))
    high = max(LEAST_SPAN, *(float(change.max()) for change in known))
    for letter, slow, fast in windows_of(goal, stroke):
        for edge in {slow, fast}:
            figure.line(along(edge, units), orientation=1)
        figure.draw(figure.text(along(float(np.sqrt(slow * fast)), units), high, letter))
    fine = np.linspace(np.sqrt(speed[seen].min()), np.sqrt(speed.max()), 4 * width) ** 2
    across = np.sqrt(units.velocity(1.0) * fine)
    figure.draw(figure.signal(list(map(float, across)), [0.0] * fine.size, marker="."))
    for index, (line, change) in enumerate(zip(lines[1:], changes, strict=True), 1):
        if change is None:
            continue
        marker = MARKERS[index % len(MARKERS)]
        marker = plotext.colorize(marker, COLOURS[index % len(COLOURS)]) if coloured else marker
        heights = np.interp(fine, speed, change)
        ends = [one.promised_to for one in (lines[0], line) if one.promised_to is not None]
        promised = fine <= min(ends, default=np.inf)
        for part, sign in ((promised, marker), (~promised, BEYOND)):
            figure.draw(
                figure.signal(list(map(float, across[part])), list(map(float, heights[part])), marker=sign)
            )
    figure.ruler("y").ticks(*_percents(low, high))
    return ended(figure, units=units, fastest=fastest(lines[:1], stroke), coloured=coloured)


def _percents(low: float, high: float) -> tuple[list[float], list[str]]:
    """Ends and none, as long as none lies apart from the ends."""
    near = 0.1 * (high - low)
    places = [place for place in (low, high) if abs(place) > near] + [0.0]
    return places, [f"{place:+.1f}" if place else "0" for place in places]
