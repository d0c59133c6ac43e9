"""Wheel travel over time in an event, before and after, as a plain drawing without style inside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from optimiser.report.plain_axes import PENS, Floats, path_part, round_step
from optimiser.report.unit_system import UnitSystem

WIDTH, HEIGHT = 640.0, 258.0
LEFT, RIGHT, TOP, BOTTOM = 58.0, 16.0, 34.0, 42.0


@dataclass(frozen=True, slots=True)
class WheelLine:
    """The wheel in an event.

    Parameters
    ----------
    name : of the damper that it has.
    times, travel : of the wheel; travel grows as it goes in. [s], [m]
    """

    name: str
    times: tuple[float, ...]
    travel: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _TimeAxes:
    last: float
    highest: float
    lowest: float

    def x(self, time: float | Floats) -> Floats:
        share = np.asarray(time, dtype=np.float64) / self.last
        return LEFT + (WIDTH - LEFT - RIGHT) * share

    def y(self, travel: float | Floats) -> Floats:
        share = (np.asarray(travel, dtype=np.float64) - self.lowest) / (self.highest - self.lowest)
        return TOP + (HEIGHT - TOP - BOTTOM) * share


def wheel_svg(
    lines: Sequence[WheelLine], *, rest: float, travel: float, units: UnitSystem, said: str
) -> Markup:
    """Wheel travel over time, deeper below; the axis spans what the wheel does, so that millimetres are seen.

    Parameters
    ----------
    lines : in order, at least one; their numbers stand on them.
    rest : travel at which the machine stands. [m]
    travel : all there is. [m]
    units : what the axes are written in.
    said : what the drawing shows, for those who cannot see it.
    """
    shallowest, deepest = min(min(line.travel) for line in lines), max(max(line.travel) for line in lines)
    room = max(0.08 * (deepest - shallowest), 0.002)
    axes = _TimeAxes(max(line.times[-1] for line in lines), deepest + room, shallowest - room)
    parts = [_grid(axes, rest, travel, units)]
    parts += [_line(axes, line, number) for number, line in enumerate(lines, 1)]
    names = "; ".join(
        f"line {number}, {line.name}: deepest {units.travel_text(max(line.travel))}"
        for number, line in enumerate(lines, 1)
    )
    return Markup(
        '<svg class="force wheel" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:.0f} {:.0f}" role="img" '
        'aria-label="{}">{}</svg>'
    ).format(WIDTH, HEIGHT, f"{said} {names}.", Markup("").join(parts))


def _grid(axes: _TimeAxes, rest: float, travel: float, units: UnitSystem) -> Markup:
    parts = []
    step = round_step(axes.last / 6)
    for count in range(int(axes.last / step) + 1):
        x = float(axes.x(count * step))
        parts.append(
            Markup(
                '<path class="grid" d="M{0:.1f} {1:.1f} V{2:.1f}"/><text class="tick" x="{0:.1f}" '
                'y="{3:.1f}">{4:g}</text>'
            ).format(x, TOP, HEIGHT - BOTTOM, HEIGHT - BOTTOM + 16, round(count * step, 6))
        )
    ends_here = travel <= axes.highest
    tall = units.length(axes.highest - axes.lowest)
    each = round_step(tall / 5)
    first = int(np.ceil(units.length(axes.lowest) / each))
    ticks = [count * each / units.length(1.0) for count in range(first, first + int(tall / each) + 1)]
    levels = [rest, *([travel] if ends_here else [])]
    near = 14 / (HEIGHT - TOP - BOTTOM) * (axes.highest - axes.lowest)
    shown = [(tick, "grid") for tick in ticks if all(abs(tick - level) > near for level in levels)]
    for value, kind in (*shown, *((level, "level") for level in levels)):
        y = float(axes.y(value))
        if not TOP <= y <= HEIGHT - BOTTOM:
            continue
        parts.append(
            Markup(
                '<path class="{0}" d="M{1:.1f} {2:.1f} H{3:.1f}"/><text class="tick side" x="{4:.1f}" '
                'y="{5:.1f}">{6}</text>'
            ).format(
                kind, LEFT, y, WIDTH - RIGHT, LEFT - 6, y + 4, units.travel_text(value).partition(" ")[0]
            )
        )
    parts.append(
        Markup(
            '<text class="axis" x="{0:.0f}" y="{1:.0f}">time, s</text>'
            '<text class="axis" x="4" y="{2:.0f}">wheel travel, {3}</text>'
        ).format(
            LEFT + (WIDTH - LEFT - RIGHT) / 2 - 20,
            HEIGHT - 8,
            TOP - 12,
            units.length_unit,
        )
    )
    return Markup("").join(parts)


def _line(axes: _TimeAxes, line: WheelLine, number: int) -> Markup:
    times, travel = np.asarray(line.times), np.asarray(line.travel)
    pen = (number - 1) % PENS + 1
    parts = [path_part(axes.x(times), axes.y(travel), f"line pen{pen}")]
    # Marks stand at other places on each line, so that lines that run together are still told apart.
    for share in ((0.22 + 0.07 * number) % 1.0, (0.62 + 0.07 * number) % 1.0):
        at = share * axes.last
        x, y = float(axes.x(at)), float(axes.y(float(np.interp(at, times, travel))))
        parts.append(
            Markup(
                '<circle class="spot pen{0}" cx="{1:.1f}" cy="{2:.1f}" r="8"/>'
                '<text class="number" x="{1:.1f}" y="{3:.1f}">{4}</text>'
            ).format(pen, x, y, y + 4, number)
        )
    return Markup("").join(parts)
