"""``shimwright dyno``: read a dyno run, say what was derived, show its points."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from optimiser.cli.options import json_option, units_option
from optimiser.cli.saying import say, say_json

if TYPE_CHECKING:
    from optimiser.files.dyno.reader import SaidOfFiles

Sign = Literal["positive", "negative"]
WAYS = click.Choice(["positive", "negative"])


@click.command("dyno")
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--damper", type=click.Path(path_type=Path), help="Whose runs they are: drawn beside its file.")
@click.option("--machine", metavar="NAME", help="Columns of a machine that this shop remembers.")
@click.option("--remember", metavar="NAME", help="Write these columns down as those of a machine.")
@click.option(
    "--column",
    "columns",
    multiple=True,
    metavar="WHAT=HEADER:UNIT",
    help="What a column is: 'force=Load:kgf'.",
)
@click.option("--clicks", multiple=True, metavar="NAME=N", help="Clicks out of an adjuster, in every run.")
@click.option("--temperature", metavar="T", help="Of the damper, in every run, as '40 C'.")
@click.option("--gas-pressure", metavar="P", help="Fill of every run, gauge, as '14 bar' or '200 psi'.")
@click.option("--stroke", metavar="L", help="Of the dyno from end to end, as '50 mm'.")
@click.option("--compression", type=WAYS, help="Sign that displacement or velocity has in compression.")
@click.option("--compression-force", type=WAYS, help="Sign that the force has in compression.")
@click.option(
    "--sample-rate", type=click.FloatRange(10, 20_000), metavar="HZ", help="Believed before the time column."
)
@click.option("--mid-stroke", metavar="L", help="Displacement at which forces are read, as in the file.")
@click.option(
    "--plot", type=click.Choice(["peaks", "continuous"]), help="What a table of velocity and force is."
)
@click.option("--warm-up", type=click.IntRange(0, 10_000), metavar="N", help="Cycles dropped at every speed.")
@click.option("--gas-force", metavar="F", help="Taken off as gas, as '120 N'.")
@click.option("--friction", metavar="F", help="Taken off as friction, as '15 N'.")
@click.option("--branches", is_flag=True, help="List the points off the peak, too.")
@units_option
@json_option
def command(
    files: tuple[Path, ...],
    damper: Path | None,
    machine: str | None,
    remember: str | None,
    columns: tuple[str, ...],
    clicks: tuple[str, ...],
    temperature: str | None,
    gas_pressure: str | None,
    stroke: str | None,
    compression: Sign | None,
    compression_force: Sign | None,
    sample_rate: float | None,
    mid_stroke: str | None,
    plot: Literal["peaks", "continuous"] | None,
    warm_up: int | None,
    gas_force: str | None,
    friction: str | None,
    branches: bool,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> None:
    """Read dyno runs from FILES of one damper and show what they say.

    FILES are CSV as machines write it: velocity and force, or time, displacement and force. What is not said
    is derived from the figures, and every option here goes before what is derived. Nothing is written unless
    --remember asks for it.

    Example: shimwright dyno dyno/tarn_session.csv --damper dampers/tarn_shock.toml
    """
    from optimiser.actions.dyno_beside import beside
    from optimiser.documents.dyno import dyno_document
    from optimiser.dyno.given import Settled
    from optimiser.files.damper_builder import read_damper
    from optimiser.files.dyno.machine_file import remember as remembered
    from optimiser.files.dyno.reader import read_session
    from optimiser.files.dyno.typed import force_typed, length_typed
    from optimiser.report.console import terminal
    from optimiser.report.dyno_text import print_dyno
    from optimiser.report.unit_system import UnitSystem

    settled = Settled(
        sample_rate=sample_rate,
        force_sign=_sign(compression_force),
        travel_sign=_sign(compression),
        mid_stroke=length_typed(mid_stroke, option="--mid-stroke"),
        continuous=None if plot is None else plot == "continuous",
        warm_up=warm_up,
        gas_force=force_typed(gas_force, option="--gas-force"),
        friction_force=force_typed(friction, option="--friction"),
    )
    described = None if damper is None else read_damper(damper)
    session = read_session(
        files,
        settled=settled,
        said=_said(columns, machine, clicks, temperature, gas_pressure, stroke),
        damper=None if described is None else described.damper,
    )
    lines, slips = ([], ()) if described is None else beside(described, session.runs)
    if as_json:
        say_json(dyno_document(session, slips).model_dump_json(indent=2))
    else:
        print_dyno(
            terminal(),
            session.runs,
            notes=[*session.notes, *slips],
            lines=lines,
            units=UnitSystem(units),
            branches=branches,
        )
    if remember is not None:
        place = remembered(files[0], remember, session.columns)
        say(f"Remembered: {place}", err=as_json)


def _sign(way: Sign | None) -> float | None:
    return None if way is None else 1.0 if way == "positive" else -1.0


def _said(
    columns: tuple[str, ...],
    machine: str | None,
    clicks: tuple[str, ...],
    temperature: str | None,
    gas_pressure: str | None,
    stroke: str | None,
) -> SaidOfFiles:
    from optimiser.files.dyno.facts import Facts
    from optimiser.files.dyno.reader import SaidOfFiles
    from optimiser.files.dyno.typed import (
        clicks_typed,
        column_of,
        length_typed,
        pressure_typed,
        temperature_typed,
    )

    return SaidOfFiles(
        columns=tuple(map(column_of, columns)),
        machine=machine,
        facts=Facts(
            clicks=clicks_typed(clicks),
            temperature=temperature_typed(temperature),
            gas_pressure=pressure_typed(gas_pressure, option="--gas-pressure"),
            stroke=length_typed(stroke, option="--stroke"),
        ),
    )
