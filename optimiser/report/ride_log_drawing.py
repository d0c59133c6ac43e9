"""A ride drawn with characters: how long the shaft is faster than a speed, and where in the travel."""

from __future__ import annotations

from typing import Final

import numpy as np
import plotext

from optimiser.report.terminal import COLOURS, LEAST_WIDTH, along
from optimiser.report.terminal_figure import begun, ended
from optimiser.report.unit_system import UnitSystem
from optimiser.ride_log.shares import STROKES, density, faster_than
from optimiser.ride_log.trace import WheelMotion
from optimiser.ride_log.wheel_ride import WheelRide

LEAST_SHARE: Final = 1e-4
"""Of the time, below which nothing is drawn. [-]"""

MARKS: Final = (("o", "."), ("x", ":"))
"""Of compression and rebound, in this run and in the one beside it."""

SHADES: Final = " .:-=+*#%@"
"""From no time to most of it."""

COLUMNS, ROWS = 32, 12
"""Of the density."""

WIDE: Final = 2
"""Characters of a cell."""


def beside_of(ride: WheelRide) -> tuple[str, WheelMotion] | None:
    """What is drawn beside a run, with its name; None for nothing."""
    if ride.over is not None:
        return "the other run", ride.over[0]
    return None if ride.predicted is None else ("the prediction", ride.predicted[0])


def fastest_of(ride: WheelRide) -> float:
    """Where an axis of shaft velocity ends. [m/s]"""
    return max(one.velocity for one in ride.peaks)


def faster_than_text(
    ride: WheelRide, *, units: UnitSystem, width: int, colour: bool, height: int = 16
) -> str:
    """Share of time in which the shaft is faster than a speed, on a logarithmic scale, with the shop's bands.

    Parameters
    ----------
    ride : of one wheel.
    units : what the axis is written in.
    width, height : in characters.
    colour : whether to colour.
    """
    size = max(width, LEAST_WIDTH), height
    title = f"share of time in which the shaft is faster than so many {units.velocity_unit}"
    figure = begun(title, size)
    top = fastest_of(ride)
    speeds = np.linspace(np.sqrt(ride.bands[0].low) / 2, np.sqrt(top), 3 * size[0]) ** 2
    for edge in {edge for band in ride.bands for edge in (band.low, band.high) if edge < top}:
        figure.line(along(edge, units), orientation=1)
    other = beside_of(ride)
    runs = [ride.motion] if other is None else [other[1], ride.motion]
    for motion in runs:
        for number, stroke in enumerate(STROKES):
            share = faster_than(motion, stroke, speeds)
            seen = share >= LEAST_SHARE
            mark = MARKS[number][0 if motion is ride.motion else 1]
            shown = plotext.colorize(mark, COLOURS[number + 1]) if colour else mark
            figure.draw(
                figure.signal(
                    [along(float(v), units) for v in speeds[seen]],
                    [float(y) for y in np.log10(share[seen])],
                    marker=shown,
                )
            )
    ticks = [0, -1, -2, -3, -4]
    figure.ruler("y").ticks(ticks, [f"{100 * 10**tick:g} %" for tick in ticks])
    lines = [ended(figure, units=units, fastest=top, coloured=colour)]
    words = [f"{MARKS[number][0]}  {stroke}" for number, stroke in enumerate(STROKES)]
    if other is not None:
        words += [f"{MARKS[number][1]}  {stroke} of {other[0]}" for number, stroke in enumerate(STROKES)]
    lines.append("   ".join(words))
    edges = [f"{band.name} {units.span_text(band.low, band.high)}" for band in ride.bands]
    lines.append(f"upright: {', '.join(edges)}")
    return "\n".join(lines)


def density_text(ride: WheelRide, *, units: UnitSystem) -> str:
    """Where in the travel, and how fast: darker for more time, each mark three times the one before.

    Parameters
    ----------
    ride : of one wheel.
    units : what is written beside and below.
    """
    found = density(ride.motion, columns=COLUMNS, rows=ROWS, fastest=fastest_of(ride))
    lines = [
        (
            f"\nwhere the wheel is, {units.length_unit}, and how fast the shaft, {units.velocity_unit}: "
            "rebound left, compression right"
        )
    ]
    for row in range(ROWS):
        begin, end = (units.length(float(x)) for x in found.travels[row : row + 2])
        digits = 0 if units.length_unit == "mm" else 1
        cells = "".join(WIDE * shade(float(cell)) for cell in found.share[row])
        lines.append(f"{begin:6.{digits}f} to {end:5.{digits}f} |{cells}|")
    places = (0, COLUMNS // 4, COLUMNS // 2, 3 * COLUMNS // 4, COLUMNS)
    foot = [" "] * (WIDE * COLUMNS + 8)
    for place in places:
        text = f"{abs(units.velocity(float(found.velocities[place]))):.2g}"
        start = max(WIDE * place - len(text) // 2, 0)
        foot[start : start + len(text)] = text
    lines.append(" " * 17 + "".join(foot).rstrip())
    shades = ", ".join(
        f"{mark} {100 * LEAST_SHARE * 3 ** (number - 1):.2g} %"
        for number, mark in enumerate(SHADES)
        if number % 2 == 1
    )
    lines.append(f"from so much of the time on: {shades}")
    return "\n".join(lines)


def shade(share: float) -> str:
    """The mark of a share of time.

    Examples
    --------
    >>> shade(0.0), shade(1.5e-4), shade(0.9)
    (' ', '.', '@')
    """
    if share < LEAST_SHARE:
        return SHADES[0]
    return SHADES[min(1 + int(np.log(share / LEAST_SHARE) / np.log(3)), len(SHADES) - 1)]
