"""Force curves as SVG that a page's own style sheet draws: no style inside, so strict pages may show it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from markupsafe import Markup

from optimiser.report.plain_axes import (
    HEIGHT,
    LEFT,
    RIGHT,
    WIDTH,
    PlainAxes,
    PlotBand,
    band_parts,
    force_ticks,
    grid,
    hatches,
    line_parts,
    measured_parts,
)
from optimiser.report.sheet import CurveLine
from optimiser.report.strokes import STROKES, Stroke, fastest, has_stroke, points_of
from optimiser.report.unit_system import UnitSystem


def curves_svg(
    lines: Sequence[CurveLine],
    bands: Sequence[PlotBand],
    *,
    units: UnitSystem,
    name: str,
    measured: Sequence[CurveLine] = (),
) -> tuple[Markup, ...]:
    """One drawing a stroke that has a line, force against speed at the shaft.

    Parameters
    ----------
    lines : in order; their numbers stand at their points, 0 at the first, where there is more than one.
    bands : drawn behind them.
    units : what the axes are written in.
    name : of the figure, from which names inside it are made; letters and hyphens.
    measured : what a dyno showed, as marks that no line joins.
    """
    strokes = [stroke for stroke in STROKES if any(has_stroke(line, stroke) for line in lines)]
    return tuple(_stroke_svg(lines, bands, stroke, units, f"{name}-{stroke}", measured) for stroke in strokes)


def _stroke_svg(
    lines: Sequence[CurveLine],
    bands: Sequence[PlotBand],
    stroke: Stroke,
    units: UnitSystem,
    name: str,
    measured: Sequence[CurveLine],
) -> Markup:
    own = [band for band in bands if band.stroke == stroke]
    last = fastest(lines, stroke)
    tops = [float(points_of(line, stroke)[1].max()) for line in lines if has_stroke(line, stroke)]
    highest = max([*tops, *(max(band.most) for band in own), 1.0]) * 1.06
    axes = PlainAxes(last, 0.0, highest, spread=True)
    ticks = force_ticks(units.force(highest))
    parts = [
        hatches(name),
        *(measured_parts(axes, points, stroke) for points in measured if has_stroke(points, stroke)),
        *(band_parts(axes, band, name) for band in own),
        grid(
            axes,
            stroke,
            units,
            ticks,
            units.force(1.0),
            f"force, {units.force_unit}",
        ),
        *(
            line_parts(axes, line, number, stroke, numbered=len(lines) > 1)
            for number, line in enumerate(lines)
            if has_stroke(line, stroke)
        ),
    ]
    return Markup(
        '<svg class="force" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:.0f} {:.0f}" role="img" '
        'aria-label="{}" data-stroke="{}" data-last="{:.4f}" data-left="{:.0f}" data-right="{:.0f}">{}</svg>'
    ).format(
        WIDTH, HEIGHT, text_of(lines, own, stroke, units=units), stroke, last, LEFT, WIDTH - RIGHT,
        Markup("").join(parts),
    )  # fmt: skip


def text_of(
    lines: Sequence[CurveLine], bands: Iterable[PlotBand], stroke: Stroke, *, units: UnitSystem
) -> str:
    """What the drawing of a stroke shows, for those who cannot see it."""
    said = []
    for number, line in enumerate(lines):
        if has_stroke(line, stroke):
            speeds, forces = points_of(line, stroke)
            told = ", ".join(
                f"{units.force_text(float(np.interp(at, speeds, forces)))} {units.force_unit} at "
                f"{units.velocity_text(at)} {units.velocity_unit}"
                for at in (0.1, 0.5, 1.0)
                if at <= speeds[-1]
            )
            said.append(f"line {number}, {line.name}: {told}")
    shown = [
        f"band {band.mark}, {band.name}, {band.role.value}, "
        f"{units.span_text(min(band.speeds), max(band.speeds))}"
        for band in bands
    ]
    return f"Damping force in {stroke}. {'. '.join([*said, *shown])}."
