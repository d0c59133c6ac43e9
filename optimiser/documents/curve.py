"""Force curves asked for by a person, and what other programs get of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from pathlib import Path
from typing import Any, Final

import numpy as np

from damping_model.damper.curve import ForceCurve
from damping_model.damper.damper import Damper
from damping_model.damper.force import force_curve
from damping_model.stack.friction import StackFriction
from damping_model.units import BAR, celsius, kelvin
from optimiser.dyno.run import DynoRun
from optimiser.files.csv_cells import defused

FORMAT: Final = "shimwright curve 1"

SLOWEST: Final = 0.01
"""Speed that curves start at. [m/s]"""

POINTS: Final = 40
"""Velocities in each stroke, in equal ratios."""


@dataclass(frozen=True, slots=True)
class NamedCurve:
    """A curve and what it was asked as."""

    name: str
    curve: ForceCurve


def curves_asked(
    damper: Damper,
    *,
    clicks: Mapping[str, Sequence[int]],
    celsius: Sequence[float],
    fastest: float,
    friction: float = 0.0,
) -> list[NamedCurve]:
    """A curve for every combination of the positions and the temperatures asked for.

    With friction between shims there are two each: while the stacks open, and while they close.

    Parameters
    ----------
    damper : as numbers.
    clicks : positions to draw, by clicker; a clicker that is not named stays where it stands.
    celsius : oil temperatures [°C]; the damper's own when there is none.
    fastest : where the curves end. [m/s]
    friction : coefficient between shims. [-]
    """
    ways = [StackFriction(friction, opening) for opening in (True, False)] if friction else [None]
    speeds = np.geomspace(SLOWEST, fastest, POINTS)
    velocities = np.concatenate([-speeds[::-1], speeds])
    curves = []
    for positions in product(*clicks.values()):
        setting = dict(zip(clicks, positions, strict=True))
        for warmth in celsius or (None,):
            temperature = None if warmth is None else kelvin(celsius=warmth)
            words = [f"{name} {position} out" for name, position in setting.items()]
            words += [] if warmth is None else [f"{warmth:g} °C"]
            for way in ways:
                curve = force_curve(
                    damper, velocities=velocities, temperature=temperature, clicks=setting, friction=way
                )
                branch = [] if way is None else ["stacks opening" if way.opening else "stacks closing"]
                curves.append(NamedCurve(", ".join([*words, *branch]) or "as it stands", curve))
    return curves


def curve_document(
    damper: str, curves: Sequence[NamedCurve], *, svg: Path, runs: Sequence[DynoRun] = ()
) -> dict[str, Any]:
    """The documented keys of ``shimwright curve --json``; ``runs`` are what a dyno measured."""
    return {
        "format": FORMAT,
        "damper": damper,
        "picture": str(svg),
        "curves": [_one(named) for named in curves],
        "measured": [
            {
                "name": run.name,
                "clicks_out": dict(run.clicks),
                "velocities_m_s": [round(point.velocity, 6) for point in run.peaks],
                "damping_force_n": [round(run.damping_force(point), 3) for point in run.peaks],
            }
            for run in runs
        ],
    }


def curve_csv(curves: Sequence[NamedCurve]) -> str:
    """A table with a line for each curve and velocity, for a spreadsheet."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(
        ["curve", "velocity_m_s", "damping_force_n", "gas_force_n", "friction_force_n", "promised"]
    )
    for named in curves:
        c, name = named.curve, defused(named.name)
        rows = zip(c.velocities, c.damping_force, c.friction_force, c.promised, strict=True)
        for velocity, damping, friction, promised in rows:
            force = [f"{value:.3f}" for value in (damping, c.gas_force, friction)]
            writer.writerow([name, f"{velocity:.6g}", *force, "yes" if promised else "no"])
    return out.getvalue()


def _one(named: NamedCurve) -> dict[str, Any]:
    c = named.curve
    return {
        "name": named.name,
        "clicks_out": dict(c.clicks),
        "oil_temperature_c": round(celsius(kelvin=c.temperature), 3),
        "velocities_m_s": _rounded(c.velocities, 6),
        "damping_force_n": _rounded(c.damping_force, 3),
        "gas_force_n": round(c.gas_force, 3),
        "friction_force_n": _rounded(c.friction_force, 3),
        "promised": [bool(flag) for flag in c.promised],
        "boiling": [
            {
                "stroke": "compression" if one.sign > 0 else "rebound",
                "chamber": one.chamber,
                "from_m_s": round(one.slowest, 6),
                "to_m_s": round(one.fastest, 6),
                "gas_bar_gauge": round(one.gas_pressure / BAR, 4),
                "gas_needed_bar_gauge": round(one.gas_needed / BAR, 4),
                "fed_through": list(one.fed_through),
                "held_up_by": list(one.held_up_by),
            }
            for one in c.boiling
        ],
        "share_of_valve_n": dict(zip(c.valves, (_rounded(row, 3) for row in c.shares), strict=True)),
        "pressure_bar": dict(zip(c.spaces, (_rounded(row / BAR, 4) for row in c.pressures), strict=True)),
    }


def _rounded(values: np.typing.NDArray[np.float64], digits: int) -> list[float]:
    return [round(float(value), digits) for value in values]
