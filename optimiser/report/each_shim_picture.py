"""What each shim of a stack does, as a picture: one panel a band, a row a shim, the piston at the foot."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from markupsafe import Markup
from matplotlib.axes import Axes

from optimiser.model.goal import Goal
from optimiser.model.percent import percent_text
from optimiser.report.each_shim_text import drawn_bands, drawn_span, shims_text, tries_of
from optimiser.report.figure import panelled
from optimiser.report.strokes import stroke_of
from optimiser.studies.each_shim import ShimTried

OUT, MORE = "#8a2f1b", "#12324f"
SHAPES: Final = ("o", "s")
"""Of one out and one more, so that no colour is needed."""


def each_shim_svg(shims: Sequence[ShimTried], goal: Goal, *, hole: int, title: str) -> Markup:
    """The picture, of the bands that change; a shim that cannot leave or of which no more fits has no mark.

    Parameters
    ----------
    shims : from the piston outwards.
    goal : the bands.
    hole : diameter of the shaft. [um]
    title : for those who cannot see it.
    """
    names = [shims_text(shim, hole=hole) for shim in shims]
    windows = drawn_bands(shims, goal)
    if not windows:
        return Markup()
    with panelled(len(windows), title, 1) as (figure, panels, out):
        figure.set_size_inches(5.6, (0.55 + 0.21 * len(shims)) * len(windows) + 0.5)
        for axes, (place, mark, window) in zip(panels, windows, strict=True):
            axes.axvline(0, color="#222222", linewidth=0.8)
            for half, colour, shape in ((0, OUT, SHAPES[0]), (1, MORE, SHAPES[1])):
                found = [(row, tries_of(shim)[half]) for row, shim in enumerate(shims)]
                rows = [(row, 100 * tried.bands[place].mean) for row, (_, tried) in found if tried.bands]
                heights = [row + (0.16 if half else -0.16) for row, _ in rows]
                changes = [change for _, change in rows]
                axes.hlines(heights, 0, changes, color=colour, linewidth=3)
                axes.plot(
                    changes, heights, shape, color=colour, markersize=5, label=("one out", "one more")[half]
                )
                _name_what_lies_beyond(axes, rows, heights, 100 * drawn_span(shims, place))
            span = 112 * drawn_span(shims, place)
            axes.set(xlim=(-span, span), ylim=(-0.6, len(shims) - 0.4))
            axes.set_yticks(range(len(shims)), names)
            axes.tick_params(axis="y", length=0)
            axes.grid(visible=True, axis="x", color="#bbbbbb", linewidth=0.4)
            axes.set_title(f"{mark}  {window.name}, {stroke_of(window)}", loc="left", size=10.5)
        panels[-1].set_xlabel("average change of the damping force, %; the piston is below")
        handles, labels = panels[0].get_legend_handles_labels()
        figure.legend(handles, labels, loc="outside lower center", ncols=2)
    return out[0]


def _name_what_lies_beyond(
    axes: Axes, rows: Sequence[tuple[int, float]], heights: Sequence[float], span: float
) -> None:
    """Write the changes that are larger than the axis, such as that of a crossover, at its end. [%]"""
    for (_, change), height in zip(rows, heights, strict=True):
        if abs(change) > span * (1 + 1e-9):
            right = change > 0
            axes.annotate(
                percent_text(change / 100), (1.12 * span if right else -1.12 * span, height),
                xytext=(-2 if right else 2, 5), textcoords="offset points",
                ha="right" if right else "left", va="center", fontsize=8.5,
            )  # fmt: skip
