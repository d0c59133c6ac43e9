"""``shimwright leverage``: what a band at the shaft means at the wheel, along the travel."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.options import units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError
from optimiser.model.percent import share_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from optimiser.intake.at_the_wheel import WheelRow
    from optimiser.intake.bands import Band
    from optimiser.intake.machine import Corner, Machine
    from optimiser.report.unit_system import UnitSystem


@click.command("leverage")
@click.argument("bike", type=click.Path(path_type=Path))
@click.option("--corner", default=None, help="Which wheel; needed when the bike file has several.")
@click.option(
    "--from", "low", type=float, default=0.04, show_default=True, help="Slowest shaft velocity, m/s."
)
@click.option(
    "--to", "high", type=float, default=0.15, show_default=True, help="Fastest shaft velocity, m/s."
)
@click.option("--sag-mm", type=float, default=None, help="Sag as wheel travel; the usual one when left out.")
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="Write the picture here.")
@units_option
@click.option("--json", "as_json", is_flag=True, help="Print keys in SI for programs.")
def command(
    bike: Path,
    corner: str | None,
    low: float,
    high: float,
    sag_mm: float | None,
    svg: Path | None,
    units: str,
    as_json: bool,
) -> None:
    """Show what one band at the shaft means at the wheel, at sag, in the middle and at the end of the travel.

    Example: shimwright leverage bikes/oxlip_trail.toml --corner rear
    """
    from damping_model.units import MILLIMETRE
    from optimiser.files.base import read_toml
    from optimiser.files.bike_file import BikeFile
    from optimiser.files.writing import write_whole
    from optimiser.intake.at_the_wheel import band_at_the_wheel
    from optimiser.intake.bands import Band
    from optimiser.report.unit_system import UnitSystem

    machine = read_toml(bike, BikeFile, what="bike").machine()
    place = _corner(machine, corner, bike)
    system = UnitSystem(units)
    band = Band("shaft band", "compression", low, high, 1.0)
    sag = _usual_sag(machine, place) if sag_mm is None else sag_mm * MILLIMETRE
    rows = band_at_the_wheel(band=band, corner=place, sag=sag)
    if svg is not None:
        from optimiser.report.leverage_drawing import leverage_svg

        write_whole(svg, leverage_svg(place, band, rows, units=system))
    if as_json:
        document = {"format": "shimwright leverage 1", "bike": machine.name, "corner": place.name}
        say_json(json.dumps(document | {"places": [_keys(row) for row in rows]}, indent=2))
        return
    _show(machine, place, band, rows, system)
    if sag_mm is None:
        say(f"Sag taken as {share_text(sag / place.travel)} of travel, the middle of the usual range.")
    if svg is not None:
        say(f"Drawn in {svg}.")


def _keys(row: WheelRow) -> dict[str, str | float]:
    return {
        "place": row.place,
        "wheel_travel_m": row.wheel_travel,
        "shaft_travel_m": row.shaft_travel,
        "leverage_ratio": row.leverage_ratio,
        "wheel_from_m_s": row.low,
        "wheel_to_m_s": row.high,
    }


def _corner(machine: Machine, name: str | None, bike: Path) -> Corner:
    if name is not None:
        return machine.corner(name)
    if len(machine.corners) == 1:
        return machine.corners[0]
    names = ", ".join(corner.name for corner in machine.corners)
    raise InputError(f"{bike}: got no --corner, expected one of {names}. Say which wheel.")


def _usual_sag(machine: Machine, corner: Corner) -> float:
    from optimiser.files.basics_ranges_file import read_ranges

    usual = corner.sag or read_ranges().of(machine.kind).sag.get(corner.end)
    if usual is None:
        raise InputError(
            f"got no usual sag for the end '{corner.end}' of a {machine.kind}, expected one. Give --sag-mm."
        )
    return (usual[0] + usual[1]) / 2 * corner.travel


def _show(machine: Machine, corner: Corner, band: Band, rows: Sequence[WheelRow], units: UnitSystem) -> None:
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    from optimiser.report.console import terminal

    table = Table(
        title=f"{machine.name}, {corner.name}: {units.span_text(band.low, band.high)} at the shaft, "
        "seen from the wheel",
        box=SIMPLE_HEAD,
        pad_edge=False,
    )
    table.add_column("place")
    for head in (
        f"wheel travel, {units.length_unit}",
        f"shaft travel, {units.length_unit}",
        "wheel over shaft",
        "shaft over wheel",
        f"wheel, {units.velocity_unit}",
    ):
        table.add_column(head, justify="right")
    digits = 1 if units.length_unit == "mm" else 2
    for row in rows:
        table.add_row(
            row.place,
            f"{units.length(row.wheel_travel):.{digits}f}",
            f"{units.length(row.shaft_travel):.{digits}f}",
            f"{row.leverage_ratio:.3f}",
            f"{1 / row.leverage_ratio:.3f}",
            units.span_text(row.low, row.high).removesuffix(f" {units.velocity_unit}"),
        )
    terminal().print(table)
