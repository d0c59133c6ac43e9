"""Curves as SVG: force against shaft velocity, what changes, and who owns the force."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from markupsafe import Markup
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.patches import Patch
from numpy.typing import NDArray

from optimiser.model.goal import Goal, Role
from optimiser.report.band_rows import marks
from optimiser.report.figure import panelled, spread_axis
from optimiser.report.sheet import CurveLine
from optimiser.report.strokes import STROKES, Stroke, fastest, has_stroke, points_of, stroke_of
from optimiser.report.unit_system import UnitSystem

AS_IT_IS: Final = "#a8a193"
"""Pale, drawn broad, so that what is to be built shows on top of it."""

INKS: Final = ("#1b1a17", "#12324f", "#8a2f1b", "#2f6b3c", "#6a3d7c", "#a06a00")
"""Dark enough to print."""
DASHES: Final = ("-", (0, (6, 1.5)), "-.", (0, (3, 1)), (0, (8, 1, 1, 1, 1, 1)), (0, (3, 1, 1, 1)))
BEYOND: Final = (0, (1, 2.5))
"""Where nothing is promised."""
SHADES: Final = {
    Role.TARGET: "#e8b04a",
    Role.HOLD: "#9db4c0",
    Role.FAMILIARITY: "#d8d4c8",
    Role.SHOWN: "#b8c8a0",
}
SPOTS: Final = ("o", "s", "^", "D")
"""Of measured points, one for each setting."""
MARK_ROWS: Final = 3

BELOW: Final = 0.7
"""Changes have room from this share of the slowest velocity of a band on. [-]"""


def force_svg(
    lines: Sequence[CurveLine],
    *,
    units: UnitSystem,
    goal: Goal | None = None,
    title: str = "Force",
    standalone: bool = False,
    measured: Sequence[CurveLine] = (),
) -> Markup:
    """Force against shaft velocity, one panel a stroke, any number of lines laid over one another.

    Parameters
    ----------
    lines : in order; of two, the first is drawn as the damper as it is, broad and pale.
    units : what the axes are written in.
    goal : windows to shade, each with its letter and its least and most force.
    title : for people who hear the page instead of seeing it.
    standalone : for a file of its own: white ground, and the bands named below.
    measured : what a dyno showed, as marks that no line joins.
    """
    strokes = [stroke for stroke in STROKES if any(has_stroke(line, stroke) for line in lines)]
    named = len(lines) + len(measured)
    legend_rows = named + (len(goal.windows) if goal else 0) if standalone else (named + 1) // 2
    with panelled(len(strokes), title, legend_rows) as (figure, panels, out):
        for stroke, axes in zip(strokes, panels, strict=True):
            for line, pen in zip(lines, _pens(len(lines)), strict=True):
                if has_stroke(line, stroke):
                    _draw_line(axes, line, stroke, units, pen)
            for number, points in enumerate(measured):
                _draw_points(axes, points, stroke, units, SPOTS[number % len(SPOTS)])
            _shade(axes, goal, stroke, units, relative=False)
            spread_axis(axes, stroke, units, f"force, {units.force_unit}", fastest(lines, stroke))
            axes.set_ylim(bottom=0)
        handles, names = panels[0].get_legend_handles_labels()
        if standalone:
            figure.set_facecolor("white")
            handles, names = [*handles, *_patches(goal)], [*names, *_band_names(goal, units)]
        figure.legend(handles, names, loc="outside lower center", ncols=1 if standalone else 2)
    return out[0]


def change_svg(
    before: CurveLine, after: CurveLine, goal: Goal, *, units: UnitSystem, title: str = "Change of force"
) -> Markup:
    """Change of force in percent of the force before, with what each band allows."""
    return changes_svg((before, after), goal, units=units, title=title)


def changes_svg(
    lines: Sequence[CurveLine], goal: Goal, *, units: UnitSystem, title: str = "Change of force"
) -> Markup:
    """Change of every other line in percent of the first, with what each band allows; several are named."""
    strokes = [s for s in STROKES if any(stroke_of(window) == s for window in goal.windows)]
    first, others = lines[0], lines[1:]
    pens = [{"color": INKS[1], "linewidth": 2}] if len(others) == 1 else _pens(len(lines))[1:]
    with panelled(len(strokes), title, (len(others) + 1) // 2 if len(others) > 1 else 0) as (
        figure,
        panels,
        out,
    ):
        for stroke, axes in zip(strokes, panels, strict=True):
            axes.axhline(0, color="#222222", linewidth=0.6)
            speed, old = points_of(first, stroke)
            known = old > 0
            for line, pen in zip(others, pens, strict=True):
                limit = min(np.inf if one.promised_to is None else one.promised_to for one in (first, line))
                new = np.interp(speed, *points_of(line, stroke))
                change = 100 * (new[known] / old[known] - 1)
                named = pen | {"label": _short(line.name)}
                _promised(axes, units.velocity(1.0) * speed[known], change, units.velocity(limit), named)
            _shade(axes, goal, stroke, units, relative=True)
            spread_axis(axes, stroke, units, "change, %", fastest([first], stroke))
            _span_of_changes(axes, goal, stroke, units)
        if len(others) > 1:
            figure.legend(*panels[0].get_legend_handles_labels(), loc="outside lower center", ncols=2)
    return out[0]


def _span_of_changes(axes: Axes, goal: Goal, stroke: Stroke, units: UnitSystem) -> None:
    """Make room for what lies in and beyond the bands; at a crawl below them a bleed's per cents go off."""
    slowest = units.velocity(BELOW * min(abs(v) for window in goal.windows for v in window.velocities))
    shown = [0.0, -1.0, 1.0]
    for line in axes.get_lines():
        across, up = (np.asarray(values, dtype=float) for values in line.get_data())
        if across.size > 2:
            shown += up[(across >= slowest) & np.isfinite(up)].tolist()
    for window in goal.windows:
        if stroke_of(window) == stroke:
            known = np.asarray(window.before) > 0
            for limit in (window.lower, window.upper):
                shown += (100 * (np.asarray(limit)[known] / np.asarray(window.before)[known] - 1)).tolist()
    room = 0.06 * (max(shown) - min(shown))
    axes.set_ylim(min(shown) - room, max(shown) + room)


def share_svg(
    shares: Sequence[CurveLine], *, units: UnitSystem, title: str = "Share of each valve"
) -> Markup:
    """Who owns the force: the part of each valve, piled up to the whole."""
    strokes = [stroke for stroke in STROKES if any(has_stroke(line, stroke) for line in shares)]
    hatches = ("", "///", "...", "xx", "\\\\\\", "++")
    with panelled(len(strokes), title, (len(shares) + 1) // 2) as (figure, panels, out):
        for stroke, axes in zip(strokes, panels, strict=True):
            speed = points_of(shares[0], stroke)[0]
            floor = np.zeros_like(speed)
            for index, line in enumerate(shares):
                top = floor + units.force(1.0) * np.interp(speed, *points_of(line, stroke))
                ink = INKS[index % len(INKS)]
                axes.fill_between(
                    units.velocity(1.0) * speed,
                    floor,
                    top,
                    label=_short(line.name),
                    facecolor=[1 - 0.3 * (1 - part) for part in to_rgb(ink)],
                    edgecolor=ink,
                    hatch=hatches[index % len(hatches)],
                    linewidth=0.8,
                )
                floor = top
            spread_axis(axes, stroke, units, f"force, {units.force_unit}", fastest(shares, stroke))
            axes.set_ylim(bottom=0)
        figure.legend(*panels[0].get_legend_handles_labels(), loc="outside lower center", ncols=2)
    return out[0]


def _pens(count: int) -> list[dict[str, Any]]:
    """Pens for so many lines; two are the damper as it is, under what is to be built."""
    if count == 2:
        return [{"color": AS_IT_IS, "linewidth": 3.4}, {"color": INKS[1], "linewidth": 1.6}]
    return [
        {"color": INKS[index % len(INKS)], "linestyle": DASHES[index % len(DASHES)], "linewidth": 1.6}
        for index in range(count)
    ]


def _draw_line(axes: Axes, line: CurveLine, stroke: Stroke, units: UnitSystem, pen: dict[str, Any]) -> None:
    speed, force = points_of(line, stroke)
    limit = np.inf if line.promised_to is None else units.velocity(line.promised_to)
    _promised(
        axes, units.velocity(1.0) * speed, units.force(1.0) * force, limit, pen | {"label": _short(line.name)}
    )


def _draw_points(axes: Axes, points: CurveLine, stroke: Stroke, units: UnitSystem, spot: str) -> None:
    speed, force = points_of(points, stroke)
    axes.plot(
        units.velocity(1.0) * speed,
        units.force(1.0) * force,
        spot,
        label=_short(points.name),
        color=INKS[0],
        markerfacecolor="white",
        markersize=5.5,
        zorder=5,
    )


def _promised(
    axes: Axes, across: NDArray[np.float64], up: NDArray[np.float64], limit: float, pen: dict[str, Any]
) -> None:
    """A line as far as the model promises anything, and its faint continuation."""
    limit = min(limit, float(across[-1]))
    kept, beyond = across < limit, across > limit
    edge = np.interp(limit, across, up)
    axes.plot(np.append(across[kept], limit), np.append(up[kept], edge), **pen)
    if beyond.any():
        faint = pen | {"linestyle": BEYOND, "linewidth": 1.1, "label": None}
        axes.plot(np.append(limit, across[beyond]), np.append(edge, up[beyond]), **faint)


def _shade(axes: Axes, goal: Goal | None, stroke: Stroke, units: UnitSystem, *, relative: bool) -> None:
    """Shade the windows of a stroke, letter them, and draw their least and most force."""
    taken: list[float] = []
    windows = () if goal is None else goal.windows
    for mark, window in zip(marks(), windows, strict=False):
        if stroke_of(window) != stroke:
            continue
        order = np.argsort(np.abs(window.velocities))
        speed = units.velocity(1.0) * np.abs(window.velocities)[order]
        before = np.asarray(window.before)[order]
        least, most = np.asarray(window.lower)[order], np.asarray(window.upper)[order]
        if relative:
            known = before > 0
            speed = speed[known]
            least, most = (100 * (limit[known] / before[known] - 1) for limit in (least, most))
        else:
            least, most = units.force(1.0) * least, units.force(1.0) * most
        if not speed.size:
            continue
        shade = SHADES[window.role]
        edge = 0.0 if speed[-1] > speed[0] else 2.0  # a band of one velocity is a line
        axes.axvspan(speed[0], speed[-1], color=shade, alpha=0.28, linewidth=edge)
        axes.fill_between(speed, least, most, color=shade, alpha=0.75, linewidth=edge)
        middle = float(np.sqrt(speed[0] * speed[-1]))
        row = min(sum(abs(np.sqrt(middle) - np.sqrt(other)) < 0.09 for other in taken), MARK_ROWS - 1)
        taken.append(middle)
        axes.annotate(
            mark, (middle, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 2 + 12 * row),
            textcoords="offset points", ha="center", va="bottom", fontweight="bold", fontsize=10,
        )  # fmt: skip


def _patches(goal: Goal | None) -> list[Patch]:
    windows = () if goal is None else goal.windows
    return [Patch(facecolor=SHADES[window.role], label=window.name) for window in windows]


def _band_names(goal: Goal | None, units: UnitSystem) -> list[str]:
    named = [] if goal is None else list(zip(marks(), goal.windows, strict=False))
    return [
        f"{mark}  {_short(window.name)}: {window.role.value}, {stroke_of(window)} "
        + units.span_text(min(map(abs, window.velocities)), max(map(abs, window.velocities)))
        for mark, window in named
    ]


def _short(name: str) -> str:
    """A name for the legend: a long one is cut and says so; a leading underscore would hide it."""
    text = " ".join(name.split())
    text = text if len(text) <= 34 else text[:33] + "\N{HORIZONTAL ELLIPSIS}"
    return text.lstrip("_")
