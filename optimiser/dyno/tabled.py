"""From tables of velocity and force to dyno runs: points at peaks of velocity, or a continuous plot."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from optimiser.dyno.given import Floats, Settled, VelocityTable
from optimiser.dyno.near_zero import AtRest, at_rest_of_points
from optimiser.dyno.plotted import plotted
from optimiser.dyno.run import DynoPoint, DynoRun, PlotKind
from optimiser.dyno.signs import Signs, table_signs
from optimiser.dyno.suspicions import refuse_impossible, refuse_weak
from optimiser.errors import InputError

SAME: Final = 5e-3
"""Rows of one stroke whose velocities differ by less are repeats of one point. [-]"""

STILL: Final = 1e-6
"""A slower row was read at rest. [m/s]"""

HELD_BY_FRICTION: Final = 20.0
"""How far friction may hold a damper at rest off its gas force; common practice, no source. [N]"""

A_PLOT: Final = 24
"""Rows from which on a table that goes up and down in velocity is a continuous plot."""

FALLEN: Final = 0.6
"""Damping that falls to less of what it was at a slower point is a slip of the pen or the cell. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Rows:
    """Rows of a table with the file's signs: those that move, and those at rest."""

    table: VelocityTable
    velocity: Floats
    force: Floats
    still: Floats

    @property
    def rest(self) -> float | None:
        """Force at rest; None where no row was read there. [N]"""
        return float(self.still.mean()) if self.still.size else None

    @property
    def pushed(self) -> float | None:
        """A force that only gas explains: at rest, or of one sign at the slowest of both strokes. [N]"""
        if self.rest is not None and abs(self.rest) > HELD_BY_FRICTION:
            return self.rest
        ends = [
            float(self.force[own][np.argmin(np.abs(self.velocity[own]))])
            for own in (self.velocity > 0, self.velocity < 0)
            if own.any()
        ]
        return ends[0] if len(ends) == 2 and ends[0] * ends[1] > 0 else None


def read_tables(tables: Sequence[VelocityTable], settled: Settled) -> list[tuple[DynoRun, AtRest | None]]:
    """Runs of the tables of one file, counted alike, with their forces at rest where they tell them.

    Raises
    ------
    InputError
        Naming the run, and what it cannot be read for.
    """
    rows = [_rows(table) for table in tables]
    refuse_weak(tables[0].given.place, max(float(np.abs(one.force).max()) for one in rows))
    slopes = [_slope(one.velocity, one.force, one.table.given.place) for one in rows]
    place = tables[0].given.place
    if len({slope > 0 for slope in slopes}) > 1:
        raise InputError(
            f"{place}: in some runs force and velocity have one sign and in others not, expected the columns "
            "of one file to be counted alike. Put the runs in files of their own."
        )
    pushed = next((one.pushed for one in rows if one.pushed is not None), None)
    named = all(table.strokes_named for table in tables)
    signs = table_signs(slopes[0], pushed, settled, place=place, named=named)
    return [_run(one, signs, settled) for one in rows]


def _rows(table: VelocityTable) -> _Rows:
    given = table.given
    moving = np.abs(table.velocity) > STILL
    velocity, force = table.velocity[moving], table.force[moving]
    if velocity.size < 2:
        raise InputError(f"{given.place}: got {velocity.size} rows that move, expected two or more speeds.")
    refuse_impossible(given, speed=float(np.abs(velocity).max()), force=float(np.abs(force).max()))
    _refuse_swapped(given.place, velocity, force)
    return _Rows(table=table, velocity=velocity, force=force, still=table.force[~moving])


def _run(rows: _Rows, signs: Signs, settled: Settled) -> tuple[DynoRun, AtRest | None]:
    given, rest = rows.table.given, rows.rest
    velocity, force = signs.travel * rows.velocity, signs.force * rows.force
    continuous = _is_continuous(velocity) if settled.continuous is None else settled.continuous
    points, words = plotted(velocity, force) if continuous else _peaks(velocity, force)
    if not continuous:
        points, dropped = _within_cell(points)
        words += dropped
        _refuse_fallen(points, given.place, cut=rows.table.ends_cut)
    found = at_rest_of_points(points)
    if rest is not None:
        there, count = signs.force * rest, rows.still.size
        words.append(f"{count} row{'s' if count > 1 else ''} at rest: {there:.4g} N, which is the gas.")
        found = AtRest(compression=there, rebound=there, plus_minus=HELD_BY_FRICTION, speed=0.0)
    run = DynoRun(
        name=given.name,
        source=given.source,
        lines=given.lines,
        kind=PlotKind.CONTINUOUS if continuous else PlotKind.PEAK_VELOCITY,
        points=tuple(sorted(points, key=lambda point: point.velocity)),
        clicks=given.clicks,
        temperature=given.temperature,
        gas_pressure=given.gas_pressure,
        stroke=given.stroke,
        notes=(*given.notes, *signs.notes, *words),
    )
    return run, found


def _slope(velocity: Floats, force: Floats, place: str) -> float:
    """Sign of the force against velocity: from both strokes, or from how it grows in one."""
    if (velocity > 0).any() and (velocity < 0).any():
        return float(force[velocity > 0].mean() - force[velocity < 0].mean())
    slowest, fastest = np.argmin(np.abs(velocity)), np.argmax(np.abs(velocity))
    grown = float(np.abs(force[fastest]) - np.abs(force[slowest]))
    if grown <= 0:
        raise InputError(
            f"{place}: all rows are of one stroke and their force does not grow with velocity; expected it "
            "to. Check which column is which."
        )
    return float(force[fastest] * velocity[fastest])


def _refuse_swapped(place: str, velocity: Floats, force: Floats) -> None:
    """A dyno runs the same speeds both ways, and no damper's forces are the same both ways at every speed."""
    if _paired(force) and not _paired(velocity):
        raise InputError(
            f"{place}: the forces come in pairs of plus and minus and the velocities do not; expected it the "
            "other way round. The columns look swapped; say which is which with --column."
        )


def _paired(values: Floats) -> bool:
    one, other = np.sort(values[values > 0]), np.sort(-values[values < 0])
    return bool(one.size > 2 and one.size == other.size and np.allclose(one, other, rtol=5e-3, atol=0.0))


def _is_continuous(velocity: Floats) -> bool:
    """Whether the rows follow the shaft: velocity goes up and down in steps small beside its range."""
    if velocity.size < A_PLOT:
        return False
    steps = np.diff(velocity)
    ways = np.sign(steps[steps != 0])
    returns = int((np.diff(ways) != 0).sum())
    small = np.median(np.abs(steps)) < 0.2 * float(np.ptp(velocity))
    return bool(small and 1 <= returns < 0.5 * velocity.size)


def _peaks(velocity: Floats, force: Floats) -> tuple[list[DynoPoint], list[str]]:
    """A point for each velocity, of all its rows."""
    points, words = [], ["A table of peak velocities: each row is the peak of a stroke."]
    order = np.argsort(velocity, kind="stable")
    groups: list[list[int]] = []
    for row in order.tolist():
        if groups and abs(velocity[row] - velocity[groups[-1][0]]) <= SAME * abs(velocity[row]):
            groups[-1].append(row)
        else:
            groups.append([row])
    for group in groups:
        own = force[group]
        spread = float(own.std(ddof=1)) if own.size > 1 else 0.0
        points.append(
            DynoPoint(
                velocity=float(velocity[group].mean()),
                force=float(own.mean()),
                spread=spread,
                cycles=own.size,
            )
        )
    if len(groups) < velocity.size:
        words.append(
            f"{velocity.size} rows at {len(groups)} velocities: repeats are one point with a spread."
        )
    return points, words


def _within_cell(points: list[DynoPoint]) -> tuple[list[DynoPoint], list[str]]:
    """Points without those that stop at one and the same force, where the load cell is at its end."""
    kept, words = list(points), []
    for sign in (1.0, -1.0):
        own = sorted((one for one in points if one.sign == sign), key=lambda one: abs(one.velocity))
        end = [one for one in own if one.force == own[-1].force] if own else []
        if len(end) > 1 and len(own) > len(end):
            stroke = "compression" if sign > 0 else "rebound"
            kept = [one for one in kept if one not in end]
            words.append(
                f"{len(end)} points of {stroke} from {abs(end[0].velocity):.3g} m/s on are dropped: the "
                f"force stays at exactly {end[0].force:.5g} N there, as a load cell at its end does."
            )
    return kept, words


def _refuse_fallen(points: list[DynoPoint], place: str, *, cut: bool) -> None:
    """Refuse a force that falls with velocity; the slowest points of both strokes lie about the gas."""
    slowest = [
        min(own, key=lambda one: abs(one.velocity)).force
        for sign in (1.0, -1.0)
        if (own := [one for one in points if one.sign == sign])
    ]
    gas = float(np.mean(slowest)) if len(slowest) == 2 else 0.0
    for sign in (1.0, -1.0):
        own = sorted((one for one in points if one.sign == sign), key=lambda one: abs(one.velocity))
        for slower, faster in itertools.pairwise(own):
            before, after = sign * (slower.force - gas), sign * (faster.force - gas)
            if before > 0 and after < FALLEN * before - HELD_BY_FRICTION:
                ends = " The file ends in the middle of a line." if cut else ""
                raise InputError(
                    f"{place}: the force against the motion falls from {before:.4g} N at "
                    f"{abs(slower.velocity):.3g} m/s to {after:.4g} N at {abs(faster.velocity):.3g} m/s, "
                    f"expected it to grow.{ends} Check those two rows."
                )
