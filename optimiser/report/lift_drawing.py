"""A stack under pressure as pictures: lift by pressure, and the lifted shape of every plate."""

from __future__ import annotations

import io

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from optimiser.documents.lift import StackLift
from optimiser.model.stock import ShimKey
from optimiser.report.figure import STYLE
from optimiser.report.printable import printable
from optimiser.report.stress_words import verdict
from optimiser.report.unit_system import UnitSystem

INK, SHADE, FAINT = "#12324f", "#e8b04a", "#9db4c0"


def lift_svg(lifted: StackLift, *, title: str, units: UnitSystem) -> str:
    """Two panels: lift at seat and rim against pressure, and the plates as they stand at the highest."""
    curve = lifted.curve
    pressures = np.array([0.0, *(units.pressure(float(p)) for p in curve.pressures)])
    with mpl.rc_context({**STYLE, "figure.facecolor": "white"}):
        figure = Figure(figsize=(6.4, 6.6), layout="constrained")
        rising, shape = figure.subplots(2, 1)
        figure.suptitle(title, fontsize=10.5)
        for lift, name, dash in ((curve.seat_lift, "seat", "-"), (curve.edge_lift, "rim", "--")):
            lifts = np.concatenate([[0.0], units.length(1.0) * lift])
            rising.plot(pressures, lifts, dash, color=INK, label=f"lift at the {name}")
        if np.any(lifted.width.rising != lifted.width.falling):
            ends = (
                np.concatenate([[0.0], units.length(1.0) * w])
                for w in (lifted.width.rising, lifted.width.falling)
            )
            rising.fill_between(pressures, *ends, color=SHADE, alpha=0.5, linewidth=0, label="with friction")
        for gap in lifted.closures:
            if gap.pressure is not None:
                rising.axvline(units.pressure(gap.pressure), color=FAINT, linewidth=1)
        rising.set(
            xlabel=f"pressure on the face, {units.pressure_unit}",
            ylabel=f"lift, {units.length_unit}",
            xlim=(0, None),
            ylim=(0, None),
        )
        rising.legend(loc="lower right")
        _plates(shape, lifted, units)
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return printable(out.getvalue())


def print_lift(console: Console, lifted: StackLift, *, units: UnitSystem) -> None:
    """Lift, gaps and stress in the terminal."""
    curve, width = lifted.curve, lifted.width
    table = Table(title="Lift under pressure", box=SIMPLE_HEAD, pad_edge=False)
    length = units.length_unit
    for name in (units.pressure_unit, f"seat, {length}", f"rim, {length}"):
        table.add_column(name, justify="right")
    rubs = bool((width.rising != width.falling).any())
    if rubs:
        table.add_column(f"with friction, rising to falling, {length}", justify="right")
    for i, pressure in enumerate(curve.pressures):
        seat, rim, low, high = (
            f"{units.length(float(v[i])):.4f}"
            for v in (curve.seat_lift, curve.edge_lift, width.rising, width.falling)
        )
        friction = [f"{low} to {high}"] if rubs else []
        table.add_row(f"{units.pressure(float(pressure)):.3g}", seat, rim, *friction)
    console.print(table)
    for gap in lifted.closures:
        above = "the washer behind" if gap.upper < 0 else f"pack {gap.upper + 1}"
        when = "stays open" if gap.pressure is None else f"closes at {units.pressure_text(gap.pressure)}"
        console.print(f"The gap of {units.length_text(gap.gap)} from pack {gap.lower + 1} to {above} {when}.")
    worst = max(lifted.stresses, key=lambda stress: stress.von_mises)
    key = ShimKey.of(lifted.path.stack.shims[worst.shim - 1])
    limit = lifted.steel.fatigue_limit
    console.print(
        f"Highest stress at {units.pressure_text(float(curve.pressures[-1]))}: "
        f"{units.stress_text(worst.von_mises)} in "
        f"shim {worst.shim} ({key}) at a radius of {units.length_text(worst.radius)}, "
        f"{verdict(worst.von_mises, limit, units=units)}, the steel's fatigue limit, which is an assumption."
    )


def _plates(axes: mpl.axes.Axes, lifted: StackLift, units: UnitSystem) -> None:
    scale, floor = units.length(1.0), 0.0
    for place, pack in enumerate(lifted.packed.packs):
        radii, rise = lifted.shape(place)
        if radii.size:
            middle = (floor + pack.height / 2 + rise) * scale
            half = pack.height / 2 * scale
            axes.fill_between(
                radii * scale,
                middle - half,
                middle + half,
                facecolor=FAINT,
                edgecolor=INK,
                linewidth=0.6,
            )
        floor += pack.height
    seat = lifted.path.seat.seat_radius * scale
    axes.plot([seat, seat], [-0.15e-3 * scale, 0.0], color=INK, linewidth=3)
    axes.set(xlabel=f"radius, {units.length_unit}", ylabel=f"height above the seat, {units.length_unit}")
    highest = units.pressure_text(float(lifted.curve.pressures[-1]))
    axes.set_title(f"as it stands at {highest}; |: the lip", loc="left", size=10.5)
