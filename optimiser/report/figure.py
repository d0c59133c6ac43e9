"""What all drawings of curves share: panels, one style, an axis spread towards low speed."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

import matplotlib as mpl
import numpy as np
from markupsafe import Markup
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from optimiser.report.printable import printable
from optimiser.report.strokes import Stroke, ticks_of
from optimiser.report.unit_system import UnitSystem

STYLE: Final[dict[Any, Any]] = {
    "text.parse_math": False,
    "hatch.linewidth": 0.5,
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


@contextmanager
def panelled(count: int, title: str, legend_rows: int) -> Iterator[tuple[Figure, list[Axes], list[Markup]]]:
    """Panels above one another; when the block ends, the list holds the one SVG."""
    if not count:
        raise ValueError(f"figure '{title}': got no stroke with a line in it, expected at least one.")
    out: list[Markup] = []
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(5.6, 2.4 * count + 0.24 * legend_rows + 0.2), layout="constrained")
        panels = list(np.atleast_1d(figure.subplots(count, 1)))
        yield figure, panels, out
        text = io.StringIO()
        figure.savefig(
            text, format="svg", facecolor=figure.get_facecolor(), metadata={"Date": None, "Creator": None}
        )
        out.append(_inline(printable(text.getvalue()), title))


def _inline(svg: str, title: str) -> Markup:
    """An SVG as an element of a page: no prologue, names of its own, scaled by the page."""
    svg = svg[svg.index("<svg") :]
    prefix = re.sub(r"[^a-z]+", "-", title.lower()).strip("-") or "figure"
    svg = re.sub(r'(\bid="|xlink:href="#|url\(#)', rf"\g<1>{prefix}-", svg)
    svg = re.sub(r'^<svg([^>]*?) width="[^"]*"', r"<svg\1", svg, count=1)
    svg = re.sub(r'^<svg([^>]*?) height="[^"]*"', r"<svg\1", svg, count=1)
    head = Markup('<svg class="curve" role="img" aria-label="{}"').format(printable(title))
    return Markup(svg.replace("<svg", head, 1))  # noqa: S704  matplotlib escapes the text it writes


def spread_axis(axes: Axes, stroke: Stroke, units: UnitSystem, ylabel: str, fastest: float) -> None:
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
