"""``shimwright ride-plan``: rides that show what the adjusters can do before anything is opened."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from damping_model.damper.damper import Damper
    from optimiser.intake.brackets import Predict, RidePlan
    from optimiser.intake.goal_builder import Forces


@click.command("ride-plan")
@click.argument("damper", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write it to a file for the printer instead of showing it.",
)
@json_option
def command(damper: Path, out: Path | None, as_json: bool) -> None:
    """Print rides that move one adjuster at a time, with what the model expects and room to write.

    What was found goes back into the job, under [brackets].

    Example: shimwright ride-plan dampers/tarn_shock.toml --out ride.txt
    """
    from optimiser.cli.oddities import say_oddities
    from optimiser.files.damper_builder import read_damper
    from optimiser.files.writing import write_whole
    from optimiser.intake.brackets import adjusters_of, ride_plan

    described = read_damper(damper)
    say_oddities(described)
    adjusters = adjusters_of(described.damper)
    if not adjusters:
        raise InputError(f"{damper}: got no clicker, expected at least one. There is nothing to ride by.")
    plan = ride_plan(adjusters=adjusters, predict=_model(described.damper))
    text = f"{described.name}\n\n{plan.text()}"
    if out is not None:
        write_whole(out, text)
    if as_json:
        say_json(json.dumps(_document(described.name, plan, out), indent=2, ensure_ascii=False))
    elif out is None:
        say(text)
    else:
        say(f"Wrote {out}.")


def _document(damper: str, plan: RidePlan, out: Path | None) -> dict[str, object]:
    rides = [
        {
            "number": run.number,
            "adjuster": run.adjuster,
            "clicks_out": run.clicks,
            "held": dict(run.held),
            "expected_percent": {band: round(100 * change, 2) for band, change in run.predicted.items()},
        }
        for run in plan.runs
    ]
    written = None if out is None else str(out)
    return {"format": "shimwright ride-plan 1", "damper": damper, "written": written, "rides": rides}


def _model(damper: Damper) -> Predict:
    from damping_model.damper.force import force_curve
    from damping_model.stack.steel import SpringSteel
    from optimiser.files.symptoms_file import read_vocabulary
    from optimiser.intake.prediction import bands_of_both_strokes, predictor

    steel = SpringSteel()

    def forces_at(clicks: Mapping[str, int]) -> Forces:
        return lambda v: force_curve(damper, velocities=v, steel=steel, clicks=clicks).force_against_motion

    bands = bands_of_both_strokes(tuple(read_vocabulary().bands.values()))
    return predictor(forces_at=forces_at, bands=bands)
