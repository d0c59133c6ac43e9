"""A stack under pressure as pictures: lift by pressure, and the lifted shape of every plate."""

from __future__ import annotations

import io

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from damping_model.units import BAR, MEGAPASCAL, MILLIMETRE
from optimiser.documents.lift import StackLift
from optimiser.model.stock import ShimKey
from optimiser.report.figure import STYLE
from optimiser.report.printable import printable
from optimiser.report.stress_words import verdict

INK, SHADE, FAINT = "#12324f", "#e8b04a", "#9db4c0"


def lift_svg(lifted: StackLift, *, title: str) -> str:
    """Two panels: lift at seat and rim against pressure, and the plates as they stand at the highest."""
    curve = lifted.curve
    pressures = np.concatenate([[0.0], curve.pressures / BAR])
    with mpl.rc_context({**STYLE, "figure.facecolor": "white"}):
        figure = Figure(figsize=(6.4, 6.6), layout="constrained")
        rising, shape = figure.subplots(2, 1)
        figure.suptitle(title, fontsize=10.5)
        for lift, name, dash in ((curve.seat_lift, "seat", "-"), (curve.edge_lift, "rim", "--")):
            lifts = np.concatenate([[0.0], lift / MILLIMETRE])
            rising.plot(pressures, lifts, dash, color=INK, label=f"lift at the {name}")
        if np.any(lifted.width.rising != lifted.width.falling):
            ends = (
                np.concatenate([[0.0], w / MILLIMETRE]) for w in (lifted.width.rising, lifted.width.falling)
            )
            rising.fill_between(pressures, *ends, color=SHADE, alpha=0.5, linewidth=0, label="with friction")
        for gap in lifted.closures:
            if gap.pressure is not None:
                rising.axvline(gap.pressure / BAR, color=FAINT, linewidth=1)
        rising.set(xlabel="pressure on the face, bar", ylabel="lift, mm", xlim=(0, None), ylim=(0, None))
        rising.legend(loc="lower right")
        _plates(shape, lifted)
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return printable(out.getvalue())


def print_lift(console: Console, lifted: StackLift) -> None:
    """Lift, gaps and stress in the terminal."""
    curve, width = lifted.curve, lifted.width
    table = Table(title="Lift under pressure", box=SIMPLE_HEAD, pad_edge=False)
    for name in ("bar", "seat, mm", "rim, mm", "with friction, rising to falling, mm"):
        table.add_column(name, justify="right")
    for i, pressure in enumerate(curve.pressures):
        seat, rim, low, high = (
            f"{float(v[i]) / MILLIMETRE:.4f}"
            for v in (curve.seat_lift, curve.edge_lift, width.rising, width.falling)
        )
        table.add_row(f"{pressure / BAR:.3g}", seat, rim, "-" if low == high else f"{low} to {high}")
    console.print(table)
    for gap in lifted.closures:
        above = "the washer behind" if gap.upper < 0 else f"pack {gap.upper + 1}"
        when = "stays open" if gap.pressure is None else f"closes at {gap.pressure / BAR:.3g} bar"
        console.print(
            f"The gap of {gap.gap / MILLIMETRE:.2f} mm from pack {gap.lower + 1} to {above} {when}."
        )
    worst = max(lifted.stresses, key=lambda stress: stress.von_mises)
    key = ShimKey.of(lifted.path.stack.shims[worst.shim - 1])
    limit = lifted.steel.fatigue_limit
    console.print(
        f"Highest stress at {curve.pressures[-1] / BAR:.3g} bar: {worst.von_mises / MEGAPASCAL:.0f} MPa in "
        f"shim {worst.shim} ({key}) at {worst.radius / MILLIMETRE:.1f} mm, "
        f"{verdict(worst.von_mises, limit)}, the steel's fatigue limit, which is an assumption."
    )


def _plates(axes: mpl.axes.Axes, lifted: StackLift) -> None:
    floor = 0.0
    for place, pack in enumerate(lifted.packed.packs):
        radii, rise = lifted.shape(place)
        if radii.size:
            middle = (floor + pack.height / 2 + rise) / MILLIMETRE
            half = pack.height / 2 / MILLIMETRE
            axes.fill_between(
                radii / MILLIMETRE,
                middle - half,
                middle + half,
                facecolor=FAINT,
                edgecolor=INK,
                linewidth=0.6,
            )
        floor += pack.height
    seat = lifted.path.seat.seat_radius / MILLIMETRE
    axes.plot([seat, seat], [-0.15, 0.0], color=INK, linewidth=3)
    axes.set(xlabel="radius, mm", ylabel="height above the seat, mm")
    axes.set_title(
        f"as it stands at {lifted.curve.pressures[-1] / BAR:.3g} bar; |: the lip", loc="left", size=10.5
    )
