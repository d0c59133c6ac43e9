"""A linkage as a picture: its ratio along the travel, and what one shaft band is at the wheel."""

from __future__ import annotations

import io
from collections.abc import Sequence

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from optimiser.intake.at_the_wheel import WheelRow
from optimiser.intake.bands import Band
from optimiser.intake.machine import Corner
from optimiser.report.figure import STYLE
from optimiser.report.printable import printable
from optimiser.report.unit_system import UnitSystem

INK, SHADE, PALE = "#12324f", "#e8b04a", "#777777"


def leverage_svg(corner: Corner, band: Band, rows: Sequence[WheelRow], *, units: UnitSystem) -> str:
    """Two panels over wheel travel: wheel over shaft, and the wheel velocities that a shaft band stands for.

    Parameters
    ----------
    corner : whose linkage.
    band : of shaft velocity.
    rows : places to mark.
    units : what the axes are written in.
    """
    travel = np.linspace(0, corner.travel, 201)
    ratio = corner.leverage.leverage_ratio(wheel_travel=travel)
    along = np.array([units.length(x) for x in travel])
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(5.6, 4.8), layout="constrained", facecolor="white")
        upper, lower = figure.subplots(2, 1, sharex=True)
        upper.plot(along, ratio, color=INK)
        upper.set_ylabel("wheel over shaft")
        edges = [
            np.array([units.velocity(v) for v in velocity * ratio]) for velocity in (band.low, band.high)
        ]
        lower.fill_between(along, *edges, color=SHADE, linewidth=0)
        lower.set_ylabel(f"wheel velocity, {units.velocity_unit}")
        lower.set_xlabel(f"wheel travel, {units.length_unit}")
        lower.set_ylim(bottom=0)
        lower.set_title(
            f"{band.name}: {units.span_text(band.low, band.high)} at the shaft", loc="left", size=10.5
        )
        for axes in (upper, lower):
            _mark(axes, rows, units)
        for row in rows:
            upper.annotate(
                f"{row.place} {row.leverage_ratio:.2f}",
                (units.length(row.wheel_travel), row.leverage_ratio),
                xytext=(-6, -12) if row.place == "end" else (4, 6),
                textcoords="offset points",
                ha="right" if row.place == "end" else "left",
            )
        upper.margins(y=0.2)
        text = io.StringIO()
        figure.savefig(text, format="svg", metadata={"Date": None, "Creator": None})
    return printable(text.getvalue())


def _mark(axes: Axes, rows: Sequence[WheelRow], units: UnitSystem) -> None:
    for row in rows:
        axes.axvline(units.length(row.wheel_travel), color=PALE, linewidth=0.8, linestyle=(0, (2, 3)))
