"""A ride as a picture: how long the shaft is faster than a speed, where in the travel, and the trace."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Final

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LogNorm
from matplotlib.figure import Figure

from optimiser.report.figure import STYLE
from optimiser.report.printable import printable
from optimiser.report.ride_log_drawing import LEAST_SHARE, beside_of, fastest_of
from optimiser.report.strokes import ticks_of
from optimiser.report.unit_system import UnitSystem
from optimiser.ride_log.shares import STROKES, density, faster_than
from optimiser.ride_log.wheel_ride import WheelRide

INK: Final = {"compression": "#12324f", "rebound": "#8a2f1b"}
SHADE, PALE = "#e8b04a", "#9a9488"

PERCENTS: Final = (0.01, 0.1, 1.0, 10.0, 100.0)
"""Of time, written along logarithmic axes."""

LONGEST_DRAWN: Final = 4000
"""Points of a trace."""


def ride_svg(wheels: Sequence[WheelRide], *, units: UnitSystem) -> str:
    """Three panels a wheel: shares, density, trace with its events.

    Parameters
    ----------
    wheels : in order.
    units : what the axes are written in.
    """
    with mpl.rc_context({**STYLE, "figure.facecolor": "white"}):
        figure = Figure(figsize=(6.8, 8.4 * len(wheels)), layout="constrained")
        panels = np.atleast_1d(figure.subplots(3 * len(wheels), 1))
        for number, ride in enumerate(wheels):
            shares, cells, trace = panels[3 * number : 3 * number + 3]
            _shares(shares, ride, units)
            _density(figure, cells, ride, units)
            _trace(trace, ride, units)
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return printable(out.getvalue())


def _along(speed: float, units: UnitSystem) -> float:
    """Place of a signed speed on an axis that is spread towards low speed."""
    return float(np.sign(speed) * np.sqrt(units.velocity(abs(speed))))


def _shares(axes: Axes, ride: WheelRide, units: UnitSystem) -> None:
    top = fastest_of(ride)
    speeds = np.linspace(0, np.sqrt(top), 400) ** 2
    other = beside_of(ride)
    places = [_along(float(v), units) for v in speeds]
    for stroke in STROKES:
        dash = "-" if stroke == "compression" else "--"
        if other is not None:
            share = np.maximum(faster_than(other[1], stroke, speeds), 1e-9)
            axes.plot(places, 100 * share, dash, color=PALE, linewidth=2.5, label=f"{stroke} of {other[0]}")
        share = np.maximum(faster_than(ride.motion, stroke, speeds), 1e-9)
        axes.plot(places, 100 * share, dash, color=INK[stroke], label=stroke)
    edges = sorted({edge for band in ride.bands for edge in (band.low, band.high) if edge < top})
    for edge in edges:
        axes.axvline(_along(edge, units), color=SHADE, linewidth=1)
    for band in ride.bands:
        if band.low < top:
            middle = (_along(band.low, units) + _along(min(band.high, top), units)) / 2
            axes.text(middle, 120, band.name, ha="center", va="bottom", size=9)
    axes.set_yscale("log")
    axes.set_yticks(PERCENTS, [f"{one:g}" for one in PERCENTS])
    axes.set_ylim(PERCENTS[0], 110)
    axes.set_ylabel("share of time faster, %")
    axes.set_title(f"{ride.motion.corner}\n", loc="left", size=10.5)
    ticks = ticks_of(units, units.velocity(top))
    axes.set_xticks([float(np.sqrt(tick)) for tick in ticks], [f"{tick:g}" for tick in ticks])
    axes.set_xlim(0, _along(top, units))
    axes.set_xlabel(f"shaft velocity, {units.velocity_unit}")
    axes.legend(loc="lower left", fontsize=9)


def _density(figure: Figure, axes: Axes, ride: WheelRide, units: UnitSystem) -> None:
    found = density(ride.motion, columns=32, rows=28)
    across = [_along(float(v), units) for v in found.velocities]
    down = [units.length(float(x)) for x in found.travels]
    share = np.ma.masked_less(100 * found.share, 100 * LEAST_SHARE)
    most = max(float(found.share.max()) * 100, 1.0)
    drawn = axes.pcolormesh(across, down, share, cmap="Greys", norm=LogNorm(100 * LEAST_SHARE, most))
    bar = figure.colorbar(drawn, ax=axes, label="share of time, %")
    shown = [one for one in PERCENTS if one <= most]
    bar.set_ticks(shown, labels=[f"{one:g}" for one in shown])
    bar.minorticks_off()
    axes.invert_yaxis()
    axes.set_ylabel(f"wheel travel, {units.length_unit}")
    ticks = [tick for tick in ticks_of(units, units.velocity(fastest_of(ride))) if tick > 0][1::2]
    both = [-tick for tick in ticks[::-1]] + [0.0] + ticks
    axes.set_xticks(
        [float(np.sign(tick) * np.sqrt(abs(tick))) for tick in both], [f"{abs(tick):g}" for tick in both]
    )
    axes.set_xlabel(f"rebound, shaft velocity, {units.velocity_unit}, compression")


def _trace(axes: Axes, ride: WheelRide, units: UnitSystem) -> None:
    """Travel over time: of the moment with a second on either side, or of the whole run."""
    motion = ride.motion
    first, last = float(motion.time[0]), float(motion.time[-1])
    if ride.moment is not None:
        axes.axvspan(ride.moment.first, ride.moment.last, color=SHADE, alpha=0.35, linewidth=0)
        first, last = ride.moment.first - 1, ride.moment.last + 1
    picked = np.flatnonzero((motion.time >= first) & (motion.time <= last))
    picked = picked[:: max(1, picked.size // LONGEST_DRAWN)]
    travel = np.where(motion.counted[picked], motion.wheel_travel[picked], np.nan)
    axes.plot(motion.time[picked], units.length(1.0) * travel, color=INK["compression"], linewidth=0.8)
    end = units.length(motion.travel_end)
    for event in ride.events:
        if event.last >= first and event.first <= last:
            axes.axvspan(event.first, event.last, ymin=0.96, color=INK["rebound"], linewidth=0)
            if ride.moment is not None or len(ride.events) <= 8:
                axes.annotate(
                    event.kind.value, (max(event.first, first), 0), rotation=90, size=8, va="top", ha="left"
                )
    axes.set_ylim(1.05 * end, -0.08 * end)
    axes.set_xlim(first, last)
    axes.set_xlabel("time, s; events marked above")
    axes.set_ylabel(f"wheel travel, {units.length_unit}")
