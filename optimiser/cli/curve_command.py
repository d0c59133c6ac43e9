"""``shimwright curve``: force against velocity of a damper, and who owns it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from optimiser.actions.curve_options import positions, spans, temperatures
from optimiser.cli.options import friction_option, json_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from damping_model.damper.curve import ForceCurve

MOST_CURVES = 12
"""More lines than this nobody can tell apart."""


@click.command("curve")
@click.argument("damper", type=click.Path(path_type=Path))
@click.option(
    "--clicks", "settings", multiple=True, metavar="NAME=N,N", help="A clicker at one or more positions."
)
@click.option("--celsius", "warmths", help="Oil temperatures to lay over one another, as in 20,40,60.")
@click.option("--band", "bands", multiple=True, metavar="NAME=LOW-HIGH", help="Shade a band of speed, m/s.")
@click.option(
    "--to", "fastest", type=click.FloatRange(0.05, 10), default=2.0, show_default=True, help="Fastest, m/s."
)
@friction_option
@click.option(
    "--runs",
    multiple=True,
    type=click.Path(path_type=Path),
    help="Mark what these dyno files measured instead of the runs of the fit; repeat.",
)
@click.option("--shares", is_flag=True, help="Draw what each valve contributes, stacked up to the whole.")
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="Where to write the picture.")
@click.option("--csv", "table", type=click.Path(path_type=Path, dir_okay=False), help="Write a table, too.")
@units_option
@json_option
def command(
    damper: Path,
    settings: tuple[str, ...],
    warmths: str | None,
    bands: tuple[str, ...],
    fastest: float,
    friction: float,
    runs: tuple[Path, ...],
    shares: bool,
    svg: Path | None,
    table: Path | None,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> None:
    """Draw damping force against shaft velocity of DAMPER, in the terminal and as SVG.

    Compression and rebound have a panel each. The picture goes beside the damper file unless --svg says
    where. Gas and friction of seals are named apart from damping. With --friction every curve is a loop: more
    force while a stack opens, less while it closes. What a dyno measured is marked: the runs that the damper
    was fitted to, or those of --runs.

    Example: shimwright curve dampers/tarn_shock.toml --clicks "rebound=2,7,12"
    """
    from optimiser.cli.oddities import say_oddities
    from optimiser.documents.curve import curve_csv, curve_document, curves_asked
    from optimiser.files.beside import picture_beside
    from optimiser.files.damper_builder import read_damper
    from optimiser.files.dyno.reader import read_session
    from optimiser.files.fitted_runs import fitted_runs
    from optimiser.files.writing import write_whole
    from optimiser.intake.brackets import adjusters_of
    from optimiser.report.console import terminal
    from optimiser.report.curve_text import bands_shown, friction_words, oil_words, print_curves
    from optimiser.report.curves import force_svg, share_svg
    from optimiser.report.in_units import in_units
    from optimiser.report.measured_points import measured_points
    from optimiser.report.plan_sheet import curve_line, share_lines
    from optimiser.report.unit_system import UnitSystem

    if runs and shares:
        raise InputError("--runs: got it beside --shares, expected one of them: a dyno sees no single valve.")
    described = read_damper(damper)
    say_oddities(described)
    described.refuse_what_cannot_be_built()
    known = {one.name: one.most for one in adjusters_of(described.damper)}
    asked = curves_asked(
        described.damper,
        clicks=positions(settings, known, option="--clicks"),
        celsius=temperatures(warmths, option="--celsius"),
        fastest=fastest,
        friction=friction,
    )
    if len(asked) > MOST_CURVES or (shares and len(asked) > 1):
        most = 1 if shares else MOST_CURVES
        raise InputError(f"got {len(asked)} curves to draw, expected at most {most}: ask for fewer settings.")
    system, first = UnitSystem(units), asked[0].curve
    goal = bands_shown(spans(bands, option="--band"), first)
    shown = read_session(runs, damper=described.damper).runs if runs else fitted_runs(described)
    measured = [] if shares else measured_points(shown, fastest=fastest)
    lines = share_lines(first) if shares else [curve_line(one.name, one.curve) for one in asked]
    kind = "shares" if shares else "curve"
    place = svg or picture_beside(damper, kind)
    picture = (
        share_svg(lines, units=system, title=described.name)
        if shares
        else force_svg(
            lines, units=system, goal=goal, title=described.name, standalone=True, measured=measured
        )
    )
    write_whole(place, str(picture))
    if table is not None:
        write_whole(table, curve_csv(asked))
    if as_json:
        document = curve_document(described.name, asked, svg=place, runs=shown)
        say_json(json.dumps(document, indent=2, ensure_ascii=False))
        return
    named: Sequence[tuple[str, ForceCurve]] = [(one.name, one.curve) for one in asked]
    print_curves(terminal(), named, lines, goal=goal, units=system, measured=measured)
    if warmths is None:
        say(in_units(oil_words(described.damper), system))
    if friction:
        say(friction_words(described.stacks[0].path, friction))
    say(f"Picture: {place}" + ("" if table is None else f"\nTable: {table}"))
