"""A fit as SVG: measured points over the curves of the damper as written and as fitted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from markupsafe import Markup

from optimiser.dyno.run import DynoRun
from optimiser.report.curves import AS_IT_IS, DASHES, INKS
from optimiser.report.figure import panelled, spread_axis
from optimiser.report.sheet import CurveLine
from optimiser.report.strokes import STROKES, fastest, has_stroke, points_of
from optimiser.report.unit_system import UnitSystem

MARKS: Final = ("o", "s", "^", "D", "v", "P", "X", "<", ">", "*")
"""One shape for each setting, so that no colour is needed."""


def fit_svg(
    runs: Sequence[DynoRun],
    *,
    typed: CurveLine,
    fitted: Sequence[CurveLine],
    units: UnitSystem,
    title: str,
) -> Markup:
    """Force against shaft velocity, one panel a stroke.

    Parameters
    ----------
    runs : measured; those of one setting share a mark.
    typed : the damper as its file describes it, where its adjusters stand.
    fitted : the damper as fitted, a line for each setting.
    units : what the axes are written in.
    title : for people who hear the page instead of seeing it.
    """
    lines = [typed, *fitted]
    strokes = [stroke for stroke in STROKES if any(has_stroke(line, stroke) for line in lines)]
    settings = list(dict.fromkeys(_setting(run) for run in runs))
    with panelled(len(strokes), title, 1 + len(fitted) + len(settings)) as (figure, panels, out):
        figure.set_facecolor("white")
        for stroke, axes in zip(strokes, panels, strict=True):
            sign = 1.0 if stroke == "compression" else -1.0
            for number, line in enumerate(lines):
                speed, force = points_of(line, stroke)
                pen = (
                    {"color": AS_IT_IS, "linewidth": 3.2}
                    if number == 0
                    else {
                        "color": INKS[(number - 1) % len(INKS)],
                        "linestyle": DASHES[(number - 1) % len(DASHES)],
                        "linewidth": 1.4,
                    }
                )
                axes.plot(units.velocity(1.0) * speed, units.force(1.0) * force, label=line.name, **pen)
            for number, setting in enumerate(settings):
                points = [
                    (abs(point.velocity), sign * run.damping_force(point))
                    for run in runs
                    if _setting(run) == setting
                    for point in run.peaks
                    if point.sign == sign
                ]
                axes.plot(
                    [units.velocity(speed) for speed, _ in points],
                    [units.force(force) for _, force in points],
                    linestyle="none",
                    marker=MARKS[number % len(MARKS)],
                    markersize=5,
                    markerfacecolor="none",
                    color=INKS[number % len(INKS)],
                    label=f"measured: {setting}",
                )
            spread_axis(axes, stroke, units, f"force, {units.force_unit}", fastest(lines, stroke))
            axes.set_ylim(bottom=0)
        figure.legend(*panels[0].get_legend_handles_labels(), loc="outside lower center", ncols=1)
    return out[0]


def _setting(run: DynoRun) -> str:
    return ", ".join(f"{name} {position} out" for name, position in run.clicks.items()) or "as it stands"
