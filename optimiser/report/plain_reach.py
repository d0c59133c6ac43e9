"""How far each band goes, as a plain drawing: bars inside bars, without style inside.

Bars differ by thickness and hatching, proven ends from others by their shape; the drawing needs no colour.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from optimiser.documents.reach import BandReachDocument, EndDocument, ReachDocument
from optimiser.model.percent import percent_text
from optimiser.report.plain_axes import round_step
from optimiser.report.reach_text import changes_words
from optimiser.report.unit_system import UnitSystem

WIDTH: Final = 640.0
LEFT, RIGHT, TOP, FOOT = 66.0, 66.0, 10.0, 70.0
ROW: Final = 74.0
LABEL: Final = 24.0
"""Of a row, above its bars."""
THICKEST, THINNEST = 34.0, 8.0
LEAST_SPAN: Final = 2.0
"""Of the axis, so that a band that cannot move is a line and not an error. [%]"""
TIP: Final = 9.0

PATTERNS: Final = (
    "",
    '<path class="hatch" d="M0 8 L8 0"/>',
    '<circle class="dot" cx="4" cy="4" r="1.3"/>',
    '<path class="hatch" d="M0 4 H8"/>',
    '<path class="hatch" d="M0 0 L8 8 M0 8 L8 0"/>',
)
"""From clicks alone to four changes."""


@dataclass(frozen=True, slots=True)
class _PercentAxis:
    low: float
    high: float

    def x(self, percent: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (percent - self.low) / (self.high - self.low)


def plain_reach_svg(found: ReachDocument, *, units: UnitSystem, name: str) -> Markup:
    """One row a band: a bar for each number of changes, the fewest thinnest and in front.

    A bar ends in an upright line where the end is proven, and in an open tip where something may lie further
    out. A triangle shows what the job wants.

    Parameters
    ----------
    found : at least one band.
    units : what the bands' velocities are written in.
    name : of the figure, from which names inside it are made; letters and hyphens.
    """
    shown = [0.0]
    for band in found.bands:
        shown += [end.shift_percent for extent in band.extents for end in (extent.least, extent.most)]
        shown += [] if band.wanted_percent is None else [band.wanted_percent]
    middle, half = (min(shown) + max(shown)) / 2, max(max(shown) - min(shown), LEAST_SPAN) / 2
    scale = _PercentAxis(middle - half, middle + half)
    foot = TOP + ROW * len(found.bands)
    parts = [_patterns(name), _grid(scale, foot)]
    for row, band in enumerate(found.bands):
        parts += _row(scale, TOP + ROW * row, band, units, name)
    parts.append(_legend(found, foot + 34, name))
    return Markup(
        '<svg class="force reach" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:.0f} {:.0f}" role="img" '
        'aria-label="{}">{}</svg>'
    ).format(WIDTH, foot + FOOT, _told(found), Markup("").join(parts))


def _told(found: ReachDocument) -> str:
    rows = []
    for band in found.bands:
        ends = ", ".join(
            f"{changes_words(extent.changes)} from {_end_words(extent.least)} to {_end_words(extent.most)}"
            for extent in band.extents
        )
        wanted = "" if band.wanted_percent is None else f"; wanted {percent_text(band.wanted_percent / 100)}"
        rows.append(f"{band.name}, {band.stroke}: {ends}{wanted}")
    return f"How far each band goes, others held. {'. '.join(rows)}."


def _end_words(end: EndDocument) -> str:
    return percent_text(end.shift_percent / 100) + ("" if end.proven else ", not proven")


def _patterns(name: str) -> Markup:
    return Markup("<defs>{}</defs>").format(
        Markup("").join(
            Markup(
                '<pattern id="{0}-{1}" width="8" height="8" patternUnits="userSpaceOnUse">'
                '<rect class="reach{1}" width="8" height="8"/>{2}</pattern>'
            ).format(name, number, Markup(one))  # noqa: S704  our own strokes, no stranger's text
            for number, one in enumerate(PATTERNS)
        )
    )


def _grid(scale: _PercentAxis, foot: float) -> Markup:
    step = round_step((scale.high - scale.low) / 7)
    ticks = [step * count for count in range(int(scale.low / step) - 1, int(scale.high / step) + 2)]
    lines = [
        Markup(
            '<path class="{4}" d="M{0:.1f} {1:.1f} V{2:.1f}"/><text class="tick" x="{0:.1f}" '
            'y="{3:.1f}">{5:g}</text>'
        ).format(scale.x(tick), TOP, foot, foot + 15, "zero" if not tick else "grid", round(tick, 6))
        for tick in ticks
        if scale.low <= tick <= scale.high
    ]
    said = Markup('<text class="axis" x="4" y="{0:.1f}">%</text>').format(foot + 15)
    return Markup("").join([*lines, said])


def _row(
    scale: _PercentAxis, top: float, band: BandReachDocument, units: UnitSystem, name: str
) -> Iterator[Markup]:
    most = max(extent.changes for extent in band.extents)
    middle = top + LABEL + (ROW - LABEL) / 2 - 3
    span = units.span_text(min(band.velocities_m_s), max(band.velocities_m_s))
    yield Markup('<text class="row-name" x="4" y="{0:.1f}">{1}, {2}, {3}</text>').format(
        top + 16, band.name, band.stroke, span
    )
    for extent in reversed(band.extents):
        thick = THINNEST + (THICKEST - THINNEST) * extent.changes / max(most, 1)
        left, right = scale.x(extent.least.shift_percent), scale.x(extent.most.shift_percent)
        yield Markup(
            '<rect class="layer" fill="url(#{0}-{1})" x="{2:.1f}" y="{3:.1f}" width="{4:.1f}" '
            'height="{5:.1f}"/>'
        ).format(name, extent.changes, left, middle - thick / 2, max(right - left, 0.8), thick)
        yield _cap(left, middle, thick, extent.least, side=-1)
        yield _cap(right, middle, thick, extent.most, side=1)
    widest = band.extents[-1]
    for end, side in ((widest.least, -1), (widest.most, 1)):
        yield Markup('<text class="{0}" x="{1:.1f}" y="{2:.1f}">{3}</text>').format(
            "reach-end" if side < 0 else "reach-start",
            scale.x(end.shift_percent) + side * (5 + (0 if end.proven else TIP)),
            middle + 4,
            percent_text(end.shift_percent / 100),
        )
    if band.wanted_percent is not None:
        x, y = scale.x(band.wanted_percent), middle - THICKEST / 2 - 2
        yield Markup('<path class="wanted" d="M{0:.1f} {1:.1f} l-6 -9 h12 z"/>').format(x, y)


def _cap(x: float, middle: float, thick: float, end: EndDocument, *, side: int) -> Markup:
    tip = 0.0 if end.proven else side * TIP
    return Markup('<path class="{0}" d="M{1:.1f} {2:.1f} L{3:.1f} {4:.1f} L{1:.1f} {5:.1f}"/>').format(
        "cap" if end.proven else "cap open", x, middle - thick / 2, x + tip, middle, middle + thick / 2
    )


def _legend(found: ReachDocument, top: float, name: str) -> Markup:
    levels = sorted({extent.changes for band in found.bands for extent in band.extents})
    parts, x = [], 6.0
    for level in levels:
        words = changes_words(level)
        parts.append(
            Markup(
                '<rect class="layer" fill="url(#{0}-{1})" x="{2:.1f}" y="{3:.1f}" width="20" height="13"/>'
                '<text x="{4:.1f}" y="{5:.1f}">{6}</text>'
            ).format(name, level, x, top - 10, x + 26, top + 1, words)
        )
        x += 46 + 7.6 * len(words)
    marks = [
        ('<path class="cap" d="M{0:.1f} {1:.1f} v14"/>', "proven"),
        ('<path class="cap open" d="M{0:.1f} {1:.1f} l7 7 l-7 7"/>', "may lie further out"),
        ('<path class="wanted" d="M{2:.1f} {3:.1f} l-6 -9 h12 z"/>', "wanted"),
    ]
    x, low = 10.0, top + 24
    for drawn, words in marks:
        parts.append(
            Markup(drawn + '<text x="{4:.1f}" y="{5:.1f}">{6}</text>').format(  # noqa: S704  our own strokes
                x, low - 11, x + 3, low, x + 16, low + 1, words
            )
        )
        x += 40 + 7.6 * len(words)
    return Markup("").join(parts)
