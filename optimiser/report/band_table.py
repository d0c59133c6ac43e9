"""The table of bands for the terminal: two lines a band, so that 80 characters are enough."""

from __future__ import annotations

from collections.abc import Sequence

from rich.table import Table

from optimiser.model.percent import percent_text, points_text
from optimiser.report.band_rows import BandRow
from optimiser.report.named_lines import NamedLine, named_lines
from optimiser.report.unit_system import UnitSystem


def bands_table(rows: Sequence[BandRow], *, units: UnitSystem) -> Table:
    """Bands on average, with their range, what is allowed, and where the limits come nearest.

    Parameters
    ----------
    rows : the bands.
    units : what people read.
    """
    return named_lines(
        [NamedLine(row.mark, _name(row, units), cells_of(row, units)) for row in rows],
        title=f"Damping force at the shaft, {units.force_unit}, average over each band",
        heads=("Before", "After", "Change", "over the band", "Allowed", "Verdict"),
    )


def range_text(least: float, most: float) -> str:
    """Two shares as one range in percent: ``+5.3 to +8.1 %``."""
    return f"{percent_text(least).removesuffix(' %')} to {percent_text(most)}"


def where_text(row: BandRow, *, units: UnitSystem) -> str:
    """Where a band misses a limit, and by how much, or where it comes nearest to one; else how it is judged.

    A band that is judged on average may lie beyond what is allowed at some of its velocities.
    """
    result = row.result
    if result.missed_by > 0:
        at = "on average" if result.missed_at is None else f"at {_speed(result.missed_at, units)}"
        return f"out by {points_text(result.missed_by)} {at}"
    return "judged on average" if row.tightest is None else f"tightest at {_speed(row.tightest, units)}"


def _name(row: BandRow, units: UnitSystem) -> str:
    words = f"{row.name}: {row.role.value}, {row.stroke}, {units.span_text(row.low, row.high)}"
    return f"{words}; {where_text(row, units=units)}"


def cells_of(row: BandRow, units: UnitSystem) -> tuple[str, ...]:
    """Figures of a band: before, after, change, its range, what is allowed, verdict."""
    result = row.result
    return (
        units.force_text(result.before),
        units.force_text(result.after),
        percent_text(result.mean),
        range_text(result.least, result.most),
        range_text(*result.allowed),
        result.verdict.value,
    )


def _speed(speed: float, units: UnitSystem) -> str:
    return f"{units.velocity_text(speed)} {units.velocity_unit}"
