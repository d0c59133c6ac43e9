"""Dyno runs in the terminal: what was derived and dropped, the points by stroke, and a drawing of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from damping_model.units import celsius
from optimiser.dyno.run import Branch, DynoPoint, DynoRun
from optimiser.report.console import in_colour, print_drawing
from optimiser.report.dyno_drawing import dyno_drawing
from optimiser.report.in_units import in_units
from optimiser.report.sheet import CurveLine
from optimiser.report.unit_system import UnitSystem

SAME_SPEED: Final = 0.02
"""Points of the two strokes that differ by less in speed share a row. [-]"""


def print_dyno(
    console: Console,
    runs: Sequence[DynoRun],
    *,
    notes: Sequence[str],
    lines: Sequence[CurveLine],
    units: UnitSystem,
    branches: bool,
) -> None:
    """Print runs.

    Parameters
    ----------
    console : where to.
    runs : in order.
    notes : of the files.
    lines : curves of the model to draw below the points; none when no damper was named.
    units : what people read.
    branches : whether points off the peak are listed, too.
    """
    for note in notes:
        console.print(Text(in_units(note, units)))
    alike = [note for note in runs[0].notes if all(note in run.notes for run in runs)]
    for run in runs:
        console.print(Text(f"\n{heading(run, units)}"))
        for note in run.notes:
            if note not in alike or len(runs) == 1:
                console.print(Text(f"  {in_units(note, units)}"))
    if len(runs) > 1 and alike:
        console.print(Text("\nAll runs"))
        for note in alike:
            console.print(Text(f"  {in_units(note, units)}"))
    drawing = dyno_drawing(runs, lines, units=units, width=min(console.width, 100), colour=in_colour(console))
    console.print()
    print_drawing(console, drawing)
    console.print(_table(runs, units, peaks=True))
    if branches and any(len(run.points) > len(run.peaks) for run in runs):
        console.print(_table(runs, units, peaks=False))
    left = [
        name
        for name, known in (("gas", _all(runs, "gas")), ("friction", _all(runs, "friction")))
        if not known
    ]
    if left:
        console.print(f"Still in these forces: {' and '.join(left)}.")


def _all(runs: Sequence[DynoRun], part: str) -> bool:
    return all(getattr(run, part) is not None for run in runs)


def heading(run: DynoRun, units: UnitSystem) -> str:
    """A run in a line: what it is, and what it was measured under."""
    parts = [f"lines {run.lines[0]} to {run.lines[1]} of {run.source}", f"{run.kind.value} plot"]
    parts += [f"{name} {position} out" for name, position in run.clicks.items()]
    if run.temperature is not None:
        parts.append(in_units(f"{celsius(kelvin=run.temperature):.3g} °C", units))
    if run.gas_pressure is not None:
        parts.append(f"gas {units.pressure_text(run.gas_pressure)}")
    if run.stroke is not None:
        parts.append(f"stroke {units.length_text(run.stroke)}")
    return f"{run.name}: {', '.join(parts)}"


def _table(runs: Sequence[DynoRun], units: UnitSystem, *, peaks: bool) -> Table:
    what = "at the peak" if peaks else "off the peak"
    table = Table(
        title=f"Damping force against the motion {what}, {units.force_unit}", box=SIMPLE_HEAD, pad_edge=False
    )
    table.add_column("run")
    table.add_column(units.velocity_unit, justify="right")
    if not peaks:
        table.add_column("branch")
    for stroke in ("compression", "rebound"):
        table.add_column(stroke, justify="right")
        table.add_column("spread", justify="right")
        table.add_column("cycles", justify="right")
    for run in runs:
        for both in rows_of(run, peaks=peaks):
            point = both[0] or both[1]
            assert point is not None  # noqa: S101 (a row has at least one of the two)
            start = [run.name, units.velocity_text(point.velocity)]
            start += [] if peaks else [point.branch.value]
            table.add_row(
                *map(Text, [*start, *cells_of(run, both[0], units), *cells_of(run, both[1], units)])
            )
    return table


def rows_of(run: DynoRun, *, peaks: bool) -> Iterator[tuple[DynoPoint | None, DynoPoint | None]]:
    """Points of compression and rebound that belong in one row, by speed and branch.

    Parameters
    ----------
    run : whose.
    peaks : those at the peak, or those off it.
    """
    picked = [point for point in run.points if (point.branch is Branch.PEAK) == peaks]
    left = sorted((p for p in picked if p.velocity < 0), key=lambda p: (-p.velocity, p.branch))
    for point in sorted((p for p in picked if p.velocity > 0), key=lambda p: (p.velocity, p.branch)):
        mate = next(
            (
                one
                for one in left
                if one.branch is point.branch
                and abs(one.velocity + point.velocity) <= SAME_SPEED * point.velocity
            ),
            None,
        )
        if mate is not None:
            left.remove(mate)
        yield point, mate
    yield from ((None, point) for point in left)


def cells_of(run: DynoRun, point: DynoPoint | None, units: UnitSystem) -> list[str]:
    """Force, spread and cycles of a point, as tables have them."""
    if point is None:
        return ["-", "-", "-"]
    spread = f"{units.force(point.spread):.2g}" if point.spread else "-"
    return [units.force_text(point.sign * run.damping_force(point)), spread, str(point.cycles)]
