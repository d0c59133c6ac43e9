"""Curves as SVG: force against shaft velocity, what changes, and who owns the force."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Final

import matplotlib as mpl
import numpy as np
from markupsafe import Markup
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from numpy.typing import NDArray

from optimiser.goal import Goal, Role
from optimiser.report.band_rows import marks
from optimiser.report.sheet import CurveLine
from optimiser.report.strokes import STROKES, Stroke, fastest, has_stroke, points_of, stroke_of, ticks_of
from optimiser.report.unit_system import UnitSystem

INKS: Final = ("#a8a193", "#12324f", "#8a2f1b", "#2f6b3c", "#6a3d7c", "#a06a00")
"""Dark enough to print; the first, pale and broad, is the damper as it is, and lies under the others."""
DASHES: Final = ("-", "-", "-.", (0, (5, 1)), (0, (1, 1)), (0, (3, 1, 1, 1)))
SHADES: Final = {Role.TARGET: "#e8b04a", Role.HOLD: "#9db4c0", Role.FAMILIARITY: "#d8d4c8"}
MARK_ROWS: Final = 3

_STYLE: Final[dict[Any, Any]] = {
    "text.parse_math": False,
    "svg.fonttype": "none",
    "svg.hashsalt": "shimwright",
    "font.family": ["DejaVu Sans", "sans-serif"],
    "font.size": 10.5,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.edgecolor": "#222222",
    "legend.frameon": False,
    "figure.facecolor": "none",
    "axes.facecolor": "none",
}


def force_svg(
    lines: Sequence[CurveLine],
    *,
    units: UnitSystem,
    goal: Goal | None = None,
    title: str = "Force",
    standalone: bool = False,
) -> Markup:
    """Force against shaft velocity, one panel a stroke, any number of lines laid over one another.

    Parameters
    ----------
    lines : in order; the first is drawn as the damper as it is.
    units : what the axes are written in.
    goal : windows to shade, each with its letter and its least and most force.
    title : for people who hear the page instead of seeing it.
    standalone : for a file of its own: white ground, and the bands named below.
    """
    strokes = [stroke for stroke in STROKES if any(has_stroke(line, stroke) for line in lines)]
    with _figure(len(strokes), title) as (figure, panels, out):
        for stroke, axes in zip(strokes, panels, strict=True):
            for index, line in enumerate(lines):
                _draw_line(axes, line, stroke, units, index)
            _shade(axes, goal, stroke, units, relative=False)
            _finish(axes, stroke, units, f"force, {units.force_unit}", fastest(lines, stroke))
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
    strokes = [s for s in STROKES if any(stroke_of(window) == s for window in goal.windows)]
    with _figure(len(strokes), title) as (_, panels, out):
        for stroke, axes in zip(strokes, panels, strict=True):
            speed, old = points_of(before, stroke)
            new = np.interp(speed, *points_of(after, stroke))
            known = old > 0
            axes.axhline(0, color="#222222", linewidth=0.6)
            change = 100 * (new[known] / old[known] - 1)
            axes.plot(units.velocity(1.0) * speed[known], change, color=INKS[1], linewidth=2)
            _shade(axes, goal, stroke, units, relative=True)
            _finish(axes, stroke, units, "change, %", fastest([before], stroke))
            low, high = axes.get_ylim()
            axes.set_ylim(min(low, -1.0), max(high, 1.0))
    return out[0]


def share_svg(
    shares: Sequence[CurveLine], *, units: UnitSystem, title: str = "Share of each valve"
) -> Markup:
    """Who owns the force: the part of each valve, piled up to the whole."""
    strokes = [stroke for stroke in STROKES if any(has_stroke(line, stroke) for line in shares)]
    hatches = ("", "///", "...", "xx", "\\\\\\", "++")
    with _figure(len(strokes), title) as (figure, panels, out):
        for stroke, axes in zip(strokes, panels, strict=True):
            speed = points_of(shares[0], stroke)[0]
            floor = np.zeros_like(speed)
            for index, line in enumerate(shares):
                top = floor + units.force(1.0) * np.interp(speed, *points_of(line, stroke))
                ink = INKS[index % len(INKS)]
                axes.fill_between(
                    units.velocity(1.0) * speed, floor, top, label=_short(line.name), facecolor=ink + "55",
                    edgecolor=ink, hatch=hatches[index % len(hatches)], linewidth=0.8,
                )  # fmt: skip
                floor = top
            _finish(axes, stroke, units, f"force, {units.force_unit}", fastest(shares, stroke))
            axes.set_ylim(bottom=0)
        figure.legend(*panels[0].get_legend_handles_labels(), loc="outside lower center", ncols=2)
    return out[0]


@contextmanager
def _figure(count: int, title: str) -> Iterator[tuple[Figure, list[Axes], list[Markup]]]:
    """Panels above one another; when the block ends, the list holds the one SVG."""
    if not count:
        raise ValueError(f"figure '{title}': got no stroke with a line in it, expected at least one.")
    out: list[Markup] = []
    with mpl.rc_context(_STYLE):
        figure = Figure(figsize=(5.6, 2.4 * count + 0.5), layout="constrained")
        panels = list(np.atleast_1d(figure.subplots(count, 1)))
        yield figure, panels, out
        text = io.StringIO()
        figure.savefig(
            text, format="svg", facecolor=figure.get_facecolor(), metadata={"Date": None, "Creator": None}
        )
        out.append(_inline(text.getvalue(), title))


def _inline(svg: str, title: str) -> Markup:
    """An SVG as an element of a page: no prologue, names of its own, scaled by the page."""
    svg = svg[svg.index("<svg") :]
    prefix = re.sub(r"[^a-z]+", "-", title.lower()).strip("-") or "figure"
    svg = re.sub(r'(\bid="|xlink:href="#|url\(#)', rf"\g<1>{prefix}-", svg)
    svg = re.sub(r'^<svg([^>]*?) width="[^"]*"', r"<svg\1", svg, count=1)
    svg = re.sub(r'^<svg([^>]*?) height="[^"]*"', r"<svg\1", svg, count=1)
    head = Markup('<svg class="curve" role="img" aria-label="{}"').format(title)
    return Markup(svg.replace("<svg", head, 1))  # noqa: S704  matplotlib escapes the text it writes


def _draw_line(axes: Axes, line: CurveLine, stroke: Stroke, units: UnitSystem, index: int) -> None:
    speed, force = points_of(line, stroke)
    limit = np.inf if line.promised_to is None else line.promised_to
    kept, beyond = speed <= limit, speed >= limit
    ink, dash = INKS[index % len(INKS)], DASHES[index % len(DASHES)]
    scale_v, scale_f = units.velocity(1.0), units.force(1.0)
    width = 3.4 if index == 0 else 1.6
    axes.plot(
        scale_v * speed[kept],
        scale_f * force[kept],
        color=ink,
        linestyle=dash,
        linewidth=width,
        label=_short(line.name),
    )
    if beyond.any():
        axes.plot(scale_v * speed[beyond], scale_f * force[beyond], color=ink, linestyle=":", linewidth=1.2)


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
        axes.axvspan(speed[0], speed[-1], color=shade, alpha=0.28, linewidth=0)
        axes.fill_between(speed, least, most, color=shade, alpha=0.75, linewidth=0)
        middle = float(np.sqrt(speed[0] * speed[-1]))
        row = min(sum(abs(np.sqrt(middle) - np.sqrt(other)) < 0.09 for other in taken), MARK_ROWS - 1)
        taken.append(middle)
        axes.annotate(
            mark, (middle, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 2 + 12 * row),
            textcoords="offset points", ha="center", va="bottom", fontweight="bold", fontsize=10,
        )  # fmt: skip


def _finish(axes: Axes, stroke: Stroke, units: UnitSystem, ylabel: str, fastest: float) -> None:
    """Velocity spread towards its low end, where riders feel most and a plain axis shows least."""
    last = units.velocity(fastest)
    axes.set_xscale("function", functions=(_root, np.square))
    axes.set_xlim(0, last)
    ticks = ticks_of(units, last)
    axes.set_xticks(ticks, [f"{tick:g}" for tick in ticks])
    axes.set_xlabel(f"{stroke}: shaft velocity, {units.velocity_unit}")
    axes.set_ylabel(ylabel)
    axes.grid(visible=True, color="#bbbbbb", linewidth=0.4)


def _root(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.sqrt(np.maximum(values, 0.0))


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
