"""``shimwright tunes``: the nearest tune that the shop has on record as liked, the usual place to start."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.options import json_option
from optimiser.cli.saying import say, say_json

if TYPE_CHECKING:
    from collections.abc import Sequence

    from optimiser.files.tune_file import Tune
    from optimiser.intake.nearest_tune import NearTune


@click.command("tunes")
@click.option("--bike", type=click.Path(path_type=Path), required=True, help="The machine to be tuned.")
@click.option("--rider", type=click.Path(path_type=Path), required=True, help="Whom it is for.")
@click.option("--corner", help="Which wheel; needed when the bike file has several.")
@click.option(
    "--tunes", "folder", type=click.Path(path_type=Path), default=Path("tunes"), show_default=True,
    help="Folder with a file for each tune that was liked.",
)  # fmt: skip
@json_option
def command(bike: Path, rider: Path, corner: str | None, folder: Path, as_json: bool) -> None:
    """List the shop's liked tunes, the nearest first by leverage curve, load and spring, with what differs.

    Example: shimwright tunes --bike bikes/oxlip_trail.toml --rider riders/tobias.toml --corner rear
    """
    from optimiser.files.base import read_toml
    from optimiser.files.basics_ranges_file import read_ranges
    from optimiser.files.bike_file import BikeFile
    from optimiser.files.rider_file import RiderFile
    from optimiser.files.tune_file import read_tunes
    from optimiser.intake.nearest_tune import nearest_tunes
    from optimiser.intake.site import corner_for, site_of

    machine = read_toml(bike, BikeFile, what="bike").machine()
    person = read_toml(rider, RiderFile, what="rider").rider()
    place, ranges = corner_for(machine, corner), read_ranges()
    tunes = {str(tune.path): tune for tune in read_tunes(folder)}
    near = nearest_tunes(
        wanted=site_of("wanted", machine, place, person, ranges),
        liked=[site_of(name, tune.machine, tune.corner, tune.rider, ranges) for name, tune in tunes.items()],
    )
    if as_json:
        listed = [_keys(one, tunes[one.site.name]) for one in near]
        document = {"format": "shimwright tunes 1", "bike": machine.name, "corner": place.name}
        say_json(json.dumps(document | {"tunes": listed}, indent=2, ensure_ascii=False))
        return
    if not near:
        say(f"No tune on record in {folder}: write a file for each one that a rider liked.")
        return
    _show(near, tunes)


def _keys(one: NearTune, tune: Tune) -> dict[str, object]:
    return {
        "name": tune.name,
        "file": one.site.name,
        "damper": tune.damper.name,
        "bike": tune.machine.name,
        "distance": round(one.distance, 4),
        "differences_percent": {name: round(100 * value, 2) for name, value in one.differences.items()},
        "said": one.said,
        "liked": tune.liked,
    }


def _show(near: Sequence[NearTune], tunes: dict[str, Tune]) -> None:
    say("Liked tunes, the nearest first; this rider and frame against the liked one:")
    for rank, one in enumerate(near, 1):
        tune = tunes[one.site.name]
        say(f"{rank}. {tune.name} ({tune.damper.name} on {tune.machine.name}), {one.site.name}")
        say(f"   {one.said}.")
        if tune.liked:
            say(f'   {tune.rider.name}: "{tune.liked}"')
    say("Distance weighs leverage, progression and load alike and the spring half: common practice.")
