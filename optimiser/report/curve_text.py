"""Force curves for the terminal, with the figures that a tuner asks for first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from damping_model.damper.curve import ForceCurve
from damping_model.damper.damper import Damper
from damping_model.flow.shim_valve import ShimValve
from damping_model.stack.steel import SpringSteel
from damping_model.units import celsius
from optimiser.intake.promise import boiling_words, remedy_words
from optimiser.model.goal import Goal, Role, Window
from optimiser.report.console import in_colour, print_drawing
from optimiser.report.sheet import CurveLine
from optimiser.report.terminal import force_text
from optimiser.report.unit_system import UnitSystem

SPEEDS: Final = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0)
"""Speeds of the table, where the curve reaches them. [m/s]"""


def print_curves(
    console: Console,
    curves: Sequence[tuple[str, ForceCurve]],
    lines: Sequence[CurveLine],
    *,
    goal: Goal | None,
    units: UnitSystem,
    measured: Sequence[CurveLine] = (),
) -> None:
    """Draw the lines and list the curves' forces.

    Parameters
    ----------
    console : where to.
    curves : by name; forces in the table are theirs.
    lines : what is drawn.
    goal : bands to mark.
    units : what people read.
    measured : what a dyno showed.
    """
    width, colour = min(console.width, 100), in_colour(console)
    drawn = force_text(lines, units=units, width=width, goal=goal, colour=colour, measured=measured)
    print_drawing(console, drawn)
    console.print(_table(curves, units))
    for name, curve in curves:
        for words in boiling_text(name, curve):
            console.print(Text(words))
    gas, friction = curves[0][1].gas_force, np.abs(curves[0][1].friction_force).max()
    console.print(
        f"Apart from damping: the gas pushes the shaft out with {units.force_text(gas)} {units.force_unit}, "
        f"seals drag with {units.force_text(friction)} {units.force_unit}."
    )


def oil_words(damper: Damper, *, temperature: float | None = None) -> str:
    """Which oil a damper has, and the temperature that every force holds for, in a sentence.

    Parameters
    ----------
    damper : with its oil.
    temperature : other than the damper's own; None for that. [K]
    """
    degrees = celsius(kelvin=damper.temperature if temperature is None else temperature)
    oil = damper.oil
    return f"Oil: {oil.name}, {oil.density_15:g} kg/m³ at 15 °C; all forces at {degrees:g} °C."


def friction_words(path: ShimValve, coefficient: float) -> str:
    """How much load a coefficient of friction adds at an interface, beside what disc springs have."""
    share = path.load_of_interface(coefficient=coefficient, steel=SpringSteel())
    return (
        f"Friction of {coefficient:g} adds {100 * share:.2g} % of load at an interface of two face shims of "
        f"'{path.name}' and takes as much off while it closes; parallel disc springs, oiled: 0.5 to 3 %."
    )


def boiling_text(name: str, curve: ForceCurve) -> Iterator[str]:
    """Where the promise of a curve ends and what would help, a sentence or two for each stroke."""
    for sign in (1, -1):
        found = [one for one in curve.boiling if one.sign == sign]
        if found:
            fastest = float((sign * curve.velocities).max())
            where = "; ".join(boiling_words(one, to=fastest) for one in found)
            ends = f"beyond {found[0].slowest:.2g} m/s no figure is promised"
            yield f"{name}: {where}; {ends}. {remedy_words(found)}"


def bands_shown(bands: Sequence[tuple[str, float, float]], curve: ForceCurve) -> Goal | None:
    """Bands [m/s] that are only to be drawn, in every stroke that the curve has."""
    windows = []
    for name, low, high in bands:
        for sign in (1.0, -1.0):
            velocities = sign * np.array([low, high])
            force = tuple(
                float(f) for f in np.interp(velocities, curve.velocities, curve.force_against_motion)
            )
            ends = (float(velocities[0]), float(velocities[1]))
            windows.append(Window(name, Role.SHOWN, ends, force, force, force, force))
    return Goal(windows=tuple(windows), least_height=0.0, most_height=0.0) if windows else None


def _table(curves: Sequence[tuple[str, ForceCurve]], units: UnitSystem) -> Table:
    table = Table(
        title=f"Damping force against the motion, {units.force_unit}", box=SIMPLE_HEAD, pad_edge=False
    )
    table.add_column(units.velocity_unit, justify="right")
    for name, _ in curves:
        table.add_column(f"{name}\ncompression", justify="right")
        table.add_column("\nrebound", justify="right")
    for speed in SPEEDS:
        row = [units.velocity_text(speed)]
        for _, curve in curves:
            for signed in (speed, -speed):
                inside = curve.velocities.min() <= signed <= curve.velocities.max()
                force = np.interp(signed, curve.velocities, curve.force_against_motion) if inside else np.nan
                row.append(units.force_text(float(force)) if inside else "-")
        if any(cell != "-" for cell in row[1:]):
            table.add_row(*row)
    return table
