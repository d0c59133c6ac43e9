"""The ladder of effort as a picture: each step's change in each band against the band's limits."""

from __future__ import annotations

from typing import Final

from markupsafe import Markup
from matplotlib.axes import Axes

from optimiser.model.goal import mean_limits
from optimiser.report.figure import panelled
from optimiser.report.ladder_text import LadderView, drawn, drawn_span, effort_words

INK, LIMITS, WANTED = "#222222", "#d9cfa8", "#c8501e"
MARKS: Final = ("o", "s", "^", "D", "v")
"""Of the steps from clicks alone upwards, so that no colour is needed."""


def ladder_svg(view: LadderView, *, title: str) -> Markup:
    """One panel a band: its limits shaded, and for each step the average change with its range over the band.

    Parameters
    ----------
    view : the ladder.
    title : for those who cannot see it.
    """
    bands = list(drawn(view))
    with panelled(len(bands), title, 0) as (figure, panels, out):
        figure.set_size_inches(5.6, (0.5 + 0.2 * len(view.steps)) * len(bands) + 0.35)
        for axes, (mark, window, results) in zip(panels, bands, strict=True):
            low, high = mean_limits(window)
            axes.axvspan(100 * low, 100 * high, color=LIMITS, linewidth=0)
            axes.axvline(0, color=INK, linewidth=0.8)
            for row, result in enumerate(results):
                axes.plot([100 * result.least, 100 * result.most], [row, row], color=INK, linewidth=1.2)
                axes.plot([100 * result.mean], [row], MARKS[row % len(MARKS)], color=INK, markersize=5)
            span = drawn_span(window, results)
            axes.set_xlim(100 * span[0], 100 * span[1])
            _rows(axes, view)
            axes.set_title(f"{mark}  {window.name}", loc="left", size=10.5)
        panels[-1].set_xlabel("change of the band's force, percent")
    return out[0]


def _rows(axes: Axes, view: LadderView) -> None:
    axes.set_ylim(len(view.steps) - 0.5, -0.5)
    axes.set_yticks(range(len(view.steps)), [effort_words(step.rung.changes) for step in view.steps])
    axes.tick_params(axis="y", length=0)
