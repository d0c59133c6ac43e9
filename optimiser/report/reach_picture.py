"""How far each band goes, as a picture: bars inside bars, open where the end is not proven."""

from __future__ import annotations

import io
from collections.abc import Sequence
from textwrap import wrap
from typing import Final

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from optimiser.model.percent import percent_text
from optimiser.report.figure import STYLE
from optimiser.report.printable import printable
from optimiser.report.reach_text import band_words, changes_words
from optimiser.report.unit_system import UnitSystem
from optimiser.studies.reach import BandReach, End, Reach

SHADES: Final = ("#12324f", "#4c7fa3", "#8fb3cc", "#c2d7e4", "#e3edf3")
"""From clicks alone outwards; light enough beside one another to be told apart in grey."""

INK, WANTED = "#222222", "#c8501e"
THICKEST, THINNEST = 0.72, 0.24
"""Thickness of the outermost bar and of the innermost, where bands lie 1 apart."""

LEAST_HALF_WIDTH = 1.0
"""Half of the axis at least, so that a band that cannot move is a line and not an error. [percent]"""


def reach_svg(found: Reach, *, title: str, units: UnitSystem) -> str:
    """One row a band: a bar for each number of changes, the fewest in front.

    A bar ends in an upright line where the end is proven, and in a broken tip where it is not. A mark above
    the bar shows what the job wants.

    Parameters
    ----------
    found : at least one band.
    title : of the picture.
    units : what the bands' velocities are written in.
    """
    most_changes = max(extent.changes for band in found.bands for extent in band.extents)
    with mpl.rc_context({**STYLE, "figure.facecolor": "white"}):
        figure = Figure(figsize=(7.2, 1.9 + 0.95 * len(found.bands)), layout="constrained")
        axes = figure.subplots()
        figure.suptitle("\n".join(wrap(title, 80)), size=10.5)
        axes.set_xlim(*_limits(found))
        for row, band in enumerate(found.bands):
            _band(axes, row, band, most_changes)
        axes.axvline(0, color=INK, linewidth=0.8, zorder=0)
        axes.grid(visible=True, axis="x", color="#bbbbbb", linewidth=0.4)
        axes.set_axisbelow(True)
        axes.set_ylim(len(found.bands) - 0.4, -0.6)
        axes.set_yticks(range(len(found.bands)), [_label(band, units) for band in found.bands])
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel("average shift of the band's force, others held, percent")
        figure.legend(handles=_legend(found, most_changes), loc="outside lower center", ncols=3)
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return printable(out.getvalue())


def _label(band: BandReach, units: UnitSystem) -> str:
    """Name, role and stroke, velocities: a line each, a long name on several."""
    return "\n".join([*wrap(band.window.name, 24), *band_words(band, units=units).rsplit(", ", 1)])


def _limits(found: Reach) -> tuple[float, float]:
    """Ends of the axis with room for the figures written beside the bars. [percent]"""
    shown = [0.0]
    for band in found.bands:
        shown += [100 * end.shift for extent in band.extents for end in (extent.least, extent.most)]
        shown += [] if band.wanted is None else [100 * band.wanted]
    low, high = min(*shown, -LEAST_HALF_WIDTH), max(*shown, LEAST_HALF_WIDTH)
    room = 0.22 * (high - low)
    return low - room, high + room


def _band(axes: Axes, row: int, band: BandReach, most_changes: int) -> None:
    for extent in reversed(band.extents):
        share = extent.changes / max(most_changes, 1)
        thickness = THINNEST + share * (THICKEST - THINNEST)
        left, right = 100 * extent.least.shift, 100 * extent.most.shift
        axes.barh(row, right - left, left=left, height=thickness, color=SHADES[extent.changes], linewidth=0)
        _cap(axes, row, extent.least, thickness, side=-1)
        _cap(axes, row, extent.most, thickness, side=1)
    outermost = band.extents[-1]
    _figure(axes, row, outermost.least, side=-1)
    _figure(axes, row, outermost.most, side=1)
    if band.wanted is not None:
        above = row - THICKEST / 2 - 0.08
        axes.plot([100 * band.wanted], [above], "v", color=WANTED, markersize=7, zorder=5)


def _cap(axes: Axes, row: int, end: End, thickness: float, *, side: int) -> None:
    """An upright line where nothing lies further out; a tip that points outwards where something may."""
    at, half = 100 * end.shift, thickness / 2
    tip = 0.0 if end.proven else side * _tip(axes)
    axes.plot([at, at + tip, at], [row - half, row, row + half], color=INK, linewidth=1.2, zorder=4,
              linestyle="-" if end.proven else (0, (2, 1.5)))  # fmt: skip


def _figure(axes: Axes, row: int, end: End, *, side: int) -> None:
    beyond = 0.0 if end.proven else _tip(axes)
    axes.annotate(
        percent_text(end.shift),
        (100 * end.shift + side * beyond, row),
        xytext=(side * 4, 0),
        textcoords="offset points",
        ha="right" if side < 0 else "left",
        va="center",
    )


def _tip(axes: Axes) -> float:
    low, high = axes.get_xlim()
    return 0.018 * (high - low)


def _legend(found: Reach, most_changes: int) -> Sequence[Patch | Line2D]:
    handles: list[Patch | Line2D] = [
        Patch(color=SHADES[changes], label=changes_words(changes)) for changes in range(most_changes + 1)
    ]
    handles.append(Line2D([], [], color=INK, linewidth=1.2, label="upright end: proven"))
    if not found.proven:
        handles.append(
            Line2D([], [], color=INK, linewidth=1.2, linestyle=(0, (2, 1.5)), label="tip: not proven")
        )
    if any(band.wanted is not None for band in found.bands):
        handles.append(Line2D([], [], color=WANTED, marker="v", linestyle="", label="wanted"))
    return handles
