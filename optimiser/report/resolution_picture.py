"""How fine a stack's steps are, as a picture: a mark for every step, and the fall with more shims."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import Final

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from optimiser.report.figure import STYLE
from optimiser.report.printable import printable
from optimiser.studies.refinement import Rung
from optimiser.studies.resolution import NEAR, Steps

INK, FAINT, LINE = "#12324f", "#b9c7d1", "#c8501e"

SHOWN: Final = 1.5 * NEAR
"""Half of the axis of steps. [-]"""


def resolution_svg(steps: Steps, ladder: Sequence[Rung], *, title: str) -> str:
    """A row of marks for each band, dark where the other bands keep; below, one shim out against shims.

    Parameters
    ----------
    steps : what single changes do; at least one band.
    ladder : the stack rebuilt; the lower panel is left out when there is nothing to compare.
    title : of the picture.
    """
    drawn = [rung for rung in ladder if not math.isnan(rung.pull)]
    panels = 2 if len(drawn) > 1 else 1
    rows = len(steps.bands)
    heights = [0.7 + 0.5 * rows, 2.4][:panels]
    with mpl.rc_context({**STYLE, "figure.facecolor": "white"}):
        figure = Figure(figsize=(6.8, 0.8 + sum(heights)), layout="constrained")
        axes = list(np.atleast_1d(figure.subplots(panels, 1, height_ratios=heights)))
        figure.suptitle(title, fontsize=10.5)
        _marks(axes[0], steps)
        if panels > 1:
            _fall(axes[1], drawn)
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return printable(out.getvalue())


def _marks(axes: Axes, steps: Steps) -> None:
    for row, band in enumerate(steps.bands):
        for found, half, colour, width in ((band.steps, 0.16, FAINT, 0.5), (band.held, 0.34, INK, 0.8)):
            near = [100 * step for step in found if abs(step) <= SHOWN]
            axes.vlines(near, row - half, row + half, color=colour, linewidth=width)
    axes.axvline(0, color=LINE, linewidth=1)
    axes.set(xlim=(-100 * SHOWN, 100 * SHOWN), ylim=(len(steps.bands) - 0.5, -0.5))
    axes.set_yticks(range(len(steps.bands)), [band.window.name for band in steps.bands])
    axes.set_xlabel("average shift by one change, percent; dark: other bands keep")


def _fall(axes: Axes, ladder: Sequence[Rung]) -> None:
    shims = np.array([rung.shims for rung in ladder], dtype=float)
    pulls = np.array([100 * rung.pull for rung in ladder])
    start = next((place for place, rung in enumerate(ladder) if rung.as_it_is), 0)
    line = np.linspace(shims.min(), shims.max(), 60)
    axes.plot(line, pulls[start] * shims[start] / line, "--", color=LINE, linewidth=1, label="as 1 / shims")
    axes.plot(shims, pulls, "o", color=INK, label="rebuilt for equal bending")
    axes.plot(shims[start], pulls[start], "o", color=INK, markersize=10, fillstyle="none", label="as it is")
    axes.set(
        xlabel="shims in the stack", ylabel="one shim out: elsewhere, percent", xlim=(0, None), ylim=(0, None)
    )
    axes.legend(loc="upper right")
