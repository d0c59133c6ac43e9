"""What plain drawings of curves share: axes, grid, bands and lines, all without style of their own.

Lines differ by dash and by numbered marks at their points, bands by hatching and letter, so that neither grey
print nor colour blindness takes anything away. The page's style sheet draws them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from markupsafe import Markup
from numpy.typing import NDArray

from optimiser.model.goal import Goal, Role, Window
from optimiser.report.band_rows import marks
from optimiser.report.sheet import CurveLine
from optimiser.report.strokes import Stroke, points_of, stroke_of, ticks_of
from optimiser.report.unit_system import UnitSystem

Floats = NDArray[np.float64]

WIDTH, HEIGHT = 640.0, 330.0
LEFT, RIGHT, TOP, BOTTOM = 58.0, 16.0, 30.0, 46.0
PENS: Final = 6
"""Pens that the style sheet knows: ``pen1`` to ``pen6``."""
LEAST_APART: Final = 0.11
"""Between two figures of the force axis, as a share of it. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlotBand:
    """A band to draw behind curves.

    Parameters
    ----------
    mark, name : its letter, what it is called.
    role : why it is there.
    stroke : of the shaft.
    speeds : rising. [m/s]
    least, most : what is allowed at each of them. [N]
    """

    mark: str
    name: str
    role: Role
    stroke: Stroke
    speeds: tuple[float, ...]
    least: tuple[float, ...]
    most: tuple[float, ...]


def bands_of(goal: Goal) -> tuple[PlotBand, ...]:
    """The bands of a goal; stretches that only stay familiar are left out, since they fill the rest."""
    named = zip(marks(), goal.windows, strict=False)
    return tuple(_band(mark, window) for mark, window in named if window.role is not Role.FAMILIARITY)


def _band(mark: str, window: Window) -> PlotBand:
    order = np.argsort(np.abs(window.velocities))
    speeds, least, most = (
        tuple(float(one) for one in np.asarray(values)[order])
        for values in (np.abs(window.velocities), window.lower, window.upper)
    )
    return PlotBand(
        mark=mark, name=window.name, role=window.role, stroke=stroke_of(window),
        speeds=speeds, least=least, most=most,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class PlainAxes:
    """From speed and force, or change, to the drawing's units.

    The axis of speed is spread towards low speed, that of force towards low force; that of changes is plain.
    """

    last: float
    lowest: float
    highest: float
    spread: bool

    def x(self, speed: float | Floats) -> Floats:
        """Where a speed stands. [m/s]"""
        share = np.sqrt(np.maximum(np.asarray(speed, dtype=np.float64), 0.0) / self.last)
        return LEFT + (WIDTH - LEFT - RIGHT) * share

    def y(self, force: float | Floats) -> Floats:
        """Where a force [N], or a change [%], stands."""
        share = (np.asarray(force, dtype=np.float64) - self.lowest) / (self.highest - self.lowest)
        if self.spread:
            share = np.sqrt(np.maximum(share, 0.0))
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * share


def hatches(name: str) -> Markup:
    """Patterns of targets and of what is held; their strokes are the style sheet's."""
    return Markup(
        '<defs><pattern id="{0}-target" width="7" height="7" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><rect class="ground-target" width="7" height="7"/>'
        '<path class="hatch" d="M0 0 V7"/></pattern>'
        '<pattern id="{0}-hold" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<rect class="ground-hold" width="6" height="6"/><circle class="dot" cx="3" cy="3" r="1"/>'
        "</pattern></defs>"
    ).format(name)


def band_parts(axes: PlainAxes, band: PlotBand, name: str) -> Markup:
    """A band: its span, what is allowed in it, its letter."""
    speeds = np.asarray(band.speeds)
    left, right = float(axes.x(speeds[0])), float(axes.x(speeds[-1]))
    width = max(right - left, 3.0)
    around = [
        *zip(axes.x(speeds), axes.y(np.asarray(band.most)), strict=True),
        *reversed(list(zip(axes.x(speeds), axes.y(np.asarray(band.least)), strict=True))),
    ]
    kind = "target" if band.role is Role.TARGET else "hold"
    corners = " ".join(f"{x:.1f},{y:.1f}" for x, y in around)
    foot = HEIGHT - BOTTOM
    return Markup(
        '<rect class="span {kind}" x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" height="{height:.1f}"/>'
        '<polygon class="allowed {kind}" fill="url(#{name}-{kind})" points="{corners}"/>'
        '<text class="letter" x="{middle:.1f}" y="{above:.1f}">{mark}</text>'
    ).format(
        kind=kind, left=left, top=TOP, width=width, height=foot - TOP, name=name, corners=corners,
        middle=left + width / 2, above=TOP - 6, mark=band.mark,
    )  # fmt: skip


def grid(
    axes: PlainAxes,
    stroke: Stroke,
    units: UnitSystem,
    ticks: Sequence[float],
    scale: float,
    said: str,
) -> Markup:
    """Lines behind the curves with their figures; ``scale`` goes from newtons to the figures of ``ticks``."""
    foot, parts = HEIGHT - BOTTOM, []
    for tick in ticks_of(units, units.velocity(axes.last)):
        x = float(axes.x(tick / units.velocity(1.0)))
        parts.append(
            Markup(
                '<path class="grid" d="M{0:.1f} {1:.1f} V{2:.1f}"/><text class="tick" x="{0:.1f}" '
                'y="{3:.1f}">{4:g}</text>'
            ).format(x, TOP, foot, foot + 16, tick)
        )
    for tick in ticks:
        y = float(axes.y(tick / scale))
        parts.append(
            Markup(
                '<path class="grid" d="M{0:.1f} {1:.1f} H{2:.1f}"/><text class="tick side" x="{3:.1f}" '
                'y="{4:.1f}">{5:g}</text>'
            ).format(LEFT, y, WIDTH - RIGHT, LEFT - 6, y + 4, tick)
        )
    parts.append(
        Markup(
            '<text class="axis" x="{0:.0f}" y="{1:.0f}">{2}: shaft velocity, {3}</text>'
            '<text class="axis" x="4" y="{4:.0f}">{5}</text>'
        ).format(
            LEFT + (WIDTH - LEFT - RIGHT) / 2 - 90,
            HEIGHT - 8,
            stroke,
            units.velocity_unit,
            TOP - 12,
            said,
        )
    )
    return Markup("").join(parts)


def force_ticks(highest: float) -> list[float]:
    """Round forces up to the highest, so far apart on the spread axis that their figures have room."""
    found, last = [0.0], 0.0
    for power in range(-1, 6):
        for one in (1, 2, 3, 5):
            tick = one * 10.0**power
            share = float(np.sqrt(tick / highest))
            if tick <= highest and share - last >= LEAST_APART:
                found.append(tick)
                last = share
    return found


def round_step(least: float) -> float:
    """A step of 1, 2 or 5 times a power of ten."""
    power = 10.0 ** np.floor(np.log10(max(least, 1e-9)))
    return float(next(power * one for one in (1, 2, 5, 10) if power * one >= least))


def line_parts(
    axes: PlainAxes, line: CurveLine, number: int, stroke: Stroke, *, numbered: bool = True
) -> Markup:
    """A line with its numbered marks, and faint where nothing is promised any more."""
    speeds, forces = points_of(line, stroke)
    limit = np.inf if line.promised_to is None else line.promised_to
    kept = speeds <= limit
    pen = number % PENS + 1
    parts = [path_part(axes.x(speeds[kept]), axes.y(forces[kept]), f"line pen{pen}")]
    if (~kept).any():
        beyond = np.maximum(np.flatnonzero(~kept)[0] - 1, 0)
        beyond_path = path_part(axes.x(speeds[beyond:]), axes.y(forces[beyond:]), f"line pen{pen} beyond")
        parts.append(beyond_path)
    if not numbered:
        return Markup("").join(parts)
    # Marks stand at other places on each line, so that lines that run together are still told apart.
    places = np.interp(
        [(0.30 + 0.07 * number) % 1.0, (0.70 + 0.05 * number) % 1.0], np.linspace(0, 1, speeds.size), speeds
    )
    for at in places:
        x, y = float(axes.x(at)), float(axes.y(np.interp(at, speeds, forces)))
        parts.append(
            Markup(
                '<circle class="spot pen{0}" cx="{1:.1f}" cy="{2:.1f}" r="8"/>'
                '<text class="number" x="{1:.1f}" y="{3:.1f}">{4}</text>'
            ).format(pen, x, y, y + 4, number)
        )
    return Markup("").join(parts)


def measured_parts(axes: PlainAxes, points: CurveLine, stroke: Stroke) -> Markup:
    """What a dyno showed, as crosses."""
    speeds, forces = points_of(points, stroke)
    inside = speeds <= axes.last
    return Markup("").join(
        Markup('<path class="measured" d="M{0:.1f} {1:.1f} m-5 -5 l10 10 m0 -10 l-10 10"/>').format(x, y)
        for x, y in zip(axes.x(speeds[inside]), axes.y(forces[inside]), strict=True)
    )


def path_part(xs: Floats, ys: Floats, css: str) -> Markup:
    """A path through points in the drawing's units; nothing where there are none."""
    points = list(zip(xs, ys, strict=True))
    if not points:
        return Markup("")
    start = f"M{points[0][0]:.1f} {points[0][1]:.1f}"
    on = "".join(f"L{after[0]:.1f} {after[1]:.1f}" for _, after in pairwise(points))
    return Markup('<path class="{}" d="{}"/>').format(css, start + on)
