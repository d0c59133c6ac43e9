"""What changes from one force curve to others, in percent, with what bands allow, as plain drawings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from markupsafe import Markup

from optimiser.report.plain_axes import (
    BOTTOM,
    HEIGHT,
    LEFT,
    RIGHT,
    TOP,
    WIDTH,
    Floats,
    PlainAxes,
    PlotBand,
    band_parts,
    grid,
    hatches,
    line_parts,
    round_step,
)
from optimiser.report.sheet import CurveLine
from optimiser.report.strokes import STROKES, Stroke, fastest, has_stroke, points_of
from optimiser.report.unit_system import UnitSystem

SAME: Final = 0.02
"""A stroke in which nothing changes by more than this is not drawn. [%]"""


def changes_svg(
    lines: Sequence[CurveLine], bands: Sequence[PlotBand], *, units: UnitSystem, name: str
) -> tuple[Markup, ...]:
    """One drawing a stroke: the change of every other line in percent of the first, with what bands allow.

    Parameters
    ----------
    lines : at least two; the first is what the others are measured against.
    bands, units, name : as :func:`optimiser.report.plain_curves.curves_svg` takes them.
    """
    first, others = lines[0], lines[1:]
    changed = []
    for line in others:
        parts = [_changed(first, line, stroke) for stroke in STROKES]
        speeds = np.concatenate([-parts[1][0][::-1], parts[0][0]])
        shares = np.concatenate([parts[1][1][::-1], parts[0][1]])
        changed.append(replace(line, velocities=tuple(speeds), forces=tuple(shares)))
    relative = [_relative(first, band) for band in bands]
    return tuple(
        _change_svg(
            changed, [one for one in relative if one.stroke == stroke], stroke, units, f"{name}-{stroke}"
        )
        for stroke in STROKES
        if has_stroke(first, stroke)
        and any(np.abs(points_of(line, stroke)[1]).max(initial=0.0) > SAME for line in changed)
    )


def _changed(first: CurveLine, line: CurveLine, stroke: Stroke) -> tuple[Floats, Floats]:
    """Speeds of a stroke, and the change there in percent, where there is a force to change."""
    speeds, before = points_of(first, stroke)
    known = before > 0
    after = np.interp(speeds[known], *points_of(line, stroke)) if has_stroke(line, stroke) else before[known]
    return speeds[known], 100 * (after / before[known] - 1)


def _relative(first: CurveLine, band: PlotBand) -> PlotBand:
    speeds, before = points_of(first, band.stroke)
    at = np.interp(band.speeds, speeds, before)
    least, most = (
        tuple(float(one) for one in 100 * (np.asarray(limit) / at - 1)) for limit in (band.least, band.most)
    )
    return replace(band, least=least, most=most)


def _change_svg(
    lines: Sequence[CurveLine], bands: Sequence[PlotBand], stroke: Stroke, units: UnitSystem, name: str
) -> Markup:
    last = fastest(lines, stroke)
    slowest = min((band.speeds[0] for band in bands), default=0.05)
    shown = [-1.0, 1.0, *(limit for band in bands for limit in (min(band.least), max(band.most)))]
    for line in lines:
        speeds, shares = points_of(line, stroke)
        # At a crawl, below all bands, a bleed's per cents go off; they are cut there.
        shown += shares[speeds >= 0.7 * slowest].tolist()
    room = 0.08 * (max(shown) - min(shown))
    axes = PlainAxes(last, min(shown) - room, max(shown) + room, spread=False)
    step = round_step((axes.highest - axes.lowest) / 7)
    ticks = [step * count for count in range(int(axes.lowest / step), int(axes.highest / step) + 1)]
    parts = [
        hatches(name),
        Markup('<clipPath id="{}-clip"><rect x="{}" y="{}" width="{}" height="{}"/></clipPath>').format(
            name, LEFT, TOP, WIDTH - LEFT - RIGHT, HEIGHT - TOP - BOTTOM
        ),
        *(band_parts(axes, band, name) for band in bands),
        grid(axes, stroke, units, ticks, 1.0, "change, %"),
        Markup('<path class="zero" d="M{0:.1f} {1:.1f} H{2:.1f}"/><g clip-path="url(#{3}-clip)">').format(
            LEFT, float(axes.y(0.0)), WIDTH - RIGHT, name
        ),
        *(line_parts(axes, line, number, stroke) for number, line in enumerate(lines, 1)),
        Markup("</g>"),
    ]
    said = "; ".join(
        f"line {number}, {line.name}: "
        + ", ".join(
            f"{np.interp(at, *points_of(line, stroke)):+.1f} % at "
            f"{units.velocity_text(at)} {units.velocity_unit}"
            for at in (0.1, 0.5, 1.0)
            if at <= last
        )
        for number, line in enumerate(lines, 1)
    )
    return Markup(
        '<svg class="force change" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:.0f} {:.0f}" role="img" '
        'aria-label="{}">{}</svg>'
    ).format(WIDTH, HEIGHT, f"Change of the damping force in {stroke}. {said}.", Markup("").join(parts))
