"""``shimwright lift``: how a stack rises under pressure, where its gaps close, what stress it bears."""

from __future__ import annotations

import json
from pathlib import Path

import click

from optimiser.cli.options import friction_option, json_option, units_option
from optimiser.cli.saying import say, say_json


@click.command("lift")
@click.argument("damper", type=click.Path(path_type=Path))
@click.option("--stack", "name", help="Which stack; needed when the damper has several.")
@click.option(
    "--to", "highest", type=click.FloatRange(0.1, 1000), default=20.0, show_default=True, help="Bar."
)
@friction_option
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="Where to write the picture.")
@units_option
@json_option
def command(
    damper: Path,
    name: str | None,
    highest: float,
    friction: float,
    svg: Path | None,
    units: str,
    as_json: bool,
) -> None:
    """Show how a stack of DAMPER lifts off its seat as the pressure on its face rises.

    Example: shimwright lift dampers/tarn_shock.toml --stack "compression stack" --to 30
    """
    from damping_model.units import BAR
    from optimiser.cli.oddities import say_oddities
    from optimiser.documents.lift import lift_document, lift_of
    from optimiser.files.beside import picture_beside
    from optimiser.files.damper_builder import read_damper
    from optimiser.files.writing import write_whole
    from optimiser.report.console import terminal
    from optimiser.report.lift_drawing import lift_svg, print_lift
    from optimiser.report.unit_system import UnitSystem

    system = UnitSystem(units)
    described = read_damper(damper)
    say_oddities(described)
    described.refuse_what_cannot_be_built()
    mounted = described.stack_named(name, where="--stack")
    lifted = lift_of(mounted.path, highest=highest * BAR, friction=friction)
    place = svg or picture_beside(damper, mounted.name, "lift")
    write_whole(place, lift_svg(lifted, title=f"{described.name}, {mounted.name}", units=system))
    if as_json:
        say_json(
            json.dumps(lift_document(described.name, lifted, svg=str(place)), indent=2, ensure_ascii=False)
        )
        return
    print_lift(terminal(), lifted, units=system)
    say(f"Picture: {place}")
