"""What was promised of each band and what a dyno measured, on one scale, as a plain drawing."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from markupsafe import Markup

from optimiser.model.band_outcome import SURE, BandOutcome
from optimiser.model.percent import percent_text
from optimiser.report.measured_text import verdict
from optimiser.report.plain_axes import round_step

WIDTH: Final = 640.0
LEFT, RIGHT, TOP, FOOT = 40.0, 40.0, 8.0, 46.0
ROW: Final = 58.0


def outcome_svg(bands: Sequence[BandOutcome]) -> Markup:
    """One row a band: brackets hold what was promised 19 times in 20, a bar with a diamond what was measured.

    Parameters
    ----------
    bands : at least one.
    """
    measured = {band.name: SURE * band.uncertainty for band in bands}
    ends = [0.0]
    for band in bands:
        off = measured[band.name]
        ends += [band.low, band.high, band.measured - off, band.measured + off]
    low, high = 100 * math.expm1(min(ends)), 100 * math.expm1(max(ends))
    room = max(0.06 * (high - low), 0.5)
    low, high = low - room, high + room
    foot = TOP + ROW * len(bands)

    def x(logarithm: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (100 * math.expm1(logarithm) - low) / (high - low)

    step = round_step((high - low) / 7)
    ticks = [step * count for count in range(int(low / step) - 1, int(high / step) + 2)]
    parts = [
        Markup(
            '<path class="{4}" d="M{0:.1f} {1:.1f} V{2:.1f}"/><text class="tick" x="{0:.1f}" '
            'y="{3:.1f}">{5:g}</text>'
        ).format(x(math.log1p(tick / 100)), TOP, foot, foot + 15, "grid" if tick else "zero", round(tick, 6))
        for tick in ticks
        if low <= tick <= high
    ]
    for row, band in enumerate(bands):
        top, off = TOP + ROW * row, measured[band.name]
        middle = top + 38
        parts.append(
            Markup(
                '<text class="row-name" x="4" y="{0:.1f}">{1}: {2}</text>'
                '<path class="cap" d="M{3:.1f} {4:.1f} h-5 v22 h5 M{5:.1f} {4:.1f} h5 v22 h-5"/>'
                '<path class="line pen2" d="M{6:.1f} {7:.1f} H{8:.1f}"/>'
                '<path class="wanted" d="M{9:.1f} {7:.1f} m-6 0 l6 -7 l6 7 l-6 7 z"/>'
            ).format(
                top + 16,
                band.name,
                verdict(band),
                x(band.low),
                middle - 11,
                x(band.high),
                x(band.measured - off),
                middle,
                x(band.measured + off),
                x(band.measured),
            )
        )
    said = "; ".join(
        f"{band.name}: promised {percent_text(math.expm1(band.predicted))}, measured "
        f"{percent_text(math.expm1(band.measured))}, {verdict(band)}"
        for band in bands
    )
    return Markup(
        '<svg class="force reach" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {:.0f} {:.0f}" role="img" '
        'aria-label="{}">{}<text class="axis" x="4" y="{:.0f}">{}</text></svg>'
    ).format(
        WIDTH,
        foot + FOOT,
        f"Average change of the damping force, promised and measured. {said}.",
        Markup("").join(parts),
        foot + 36,
        "change, %; [ ] promised, diamond measured, either 19 in 20",
    )
