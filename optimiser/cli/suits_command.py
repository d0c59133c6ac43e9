"""``shimwright suits``: does a damper as it was delivered suit this frame and rider?"""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from optimiser.cli.options import json_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError
from optimiser.model.percent import share_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from damping_model.damper.damper import Damper
    from optimiser.intake.machine import Corner, Machine, Rider
    from optimiser.intake.suits import Suits, WantedBand
    from optimiser.model.goal import Window
    from optimiser.report.unit_system import UnitSystem


@click.command("suits")
@click.argument("damper", type=click.Path(path_type=Path))
@click.option("--bike", type=click.Path(path_type=Path), required=True, help="The machine it is to work in.")
@click.option("--rider", type=click.Path(path_type=Path), required=True, help="Whom it is for.")
@click.option("--corner", help="Which wheel; needed when the damper's stroke does not tell.")
@click.option(
    "--like",
    type=click.Path(path_type=Path),
    help="A known-good damper on this frame, or a liked tune; else the usual damping ratio is asked for.",
)
@click.option(
    "--tolerance",
    type=click.FloatRange(0.1, 100),
    default=10.0,
    show_default=True,
    help="With --like: percent of the known force at the wheel.",
)
@click.option(
    "--shelf", type=click.Path(path_type=Path), default=Path("shelf.csv"), show_default=True,
    help="Read only when clicks do not do.",
)  # fmt: skip
@click.option(
    "--changes", type=click.IntRange(1, 4), default=2, show_default=True, help="Most shims in one stack."
)
@click.option(
    "--time-limit",
    type=click.FloatRange(min=0.1),
    default=60.0,
    show_default=True,
    help="Seconds for each stack.",
)
@units_option
@json_option
def command(
    damper: Path,
    bike: Path,
    rider: Path,
    corner: str | None,
    like: Path | None,
    tolerance: float,
    shelf: Path,
    changes: int,
    time_limit: float,
    units: str,
    as_json: bool,
) -> int:
    """Judge DAMPER as delivered, by band at the wheel: fits as it is, by clicks, needs shims, or is wrong.

    Example: shimwright suits dampers/tarn_shock.toml --bike bikes/oxlip_trail.toml --rider riders/ines.toml
    """
    from optimiser.cli.watching import watched
    from optimiser.files.base import read_toml
    from optimiser.files.basics_ranges_file import read_ranges
    from optimiser.files.bike_file import BikeFile
    from optimiser.files.damper_builder import read_damper
    from optimiser.files.rider_file import RiderFile
    from optimiser.files.shelf import read_shelf
    from optimiser.intake.site import corner_for, usual_sag
    from optimiser.intake.suits import Verdict, does_it_suit
    from optimiser.report.unit_system import UnitSystem
    from optimiser.studies.delivered.wanted import at_the_wheel
    from optimiser.studies.delivered.work import WorkLimits, by_clicks, by_shims

    described = read_damper(damper)
    described.refuse_what_cannot_be_built()
    machine = read_toml(bike, BikeFile, what="bike").machine()
    person = read_toml(rider, RiderFile, what="rider").rider()
    place = corner_for(machine, corner, stroke=described.stroke)
    sag = usual_sag(machine, place, read_ranges())
    if sag is None:
        raise InputError(
            f"{bike}: got no usual sag for the end '{place.end}' of a {machine.kind}, expected one. "
            "Add sag_percent to the corner."
        )
    windows, reasons = (
        _as_felt(described.damper, machine, place, person, shelf.parent)
        if like is None
        else _like(like, described.damper, place, sag, tolerance / 100, shelf.parent)
    )
    bands = at_the_wheel(windows, leverage=place.leverage, sag=sag)
    with watched("Trying clicks, then shims") as (_, should_stop):
        suits = does_it_suit(
            bands=bands,
            by_clicks=lambda: by_clicks(described, windows),
            by_shims=lambda: by_shims(
                described, windows, WorkLimits(read_shelf(shelf).stock, changes, time_limit, should_stop)
            ),
        )
    if as_json:
        say_json(json.dumps(_keys(described.name, machine.name, place.name, suits, bands, reasons), indent=2))
    else:
        _show(f"{described.name} in {machine.name}, {place.name}", suits, bands, reasons, UnitSystem(units))
    if should_stop():
        return 130
    met = suits.verdict in {Verdict.FITS, Verdict.CLICKS} or suits.changes is not None
    return 0 if met else 3


def _as_felt(
    damper: Damper, machine: Machine, corner: Corner, rider: Rider, shop: Path
) -> tuple[tuple[Window, ...], tuple[str, ...]]:
    from optimiser.files.basics_ranges_file import read_ranges
    from optimiser.files.symptoms_file import vocabulary_of
    from optimiser.intake.site import place_at_usual_sag
    from optimiser.studies.delivered.wanted import wanted_as_felt

    ranges = read_ranges()
    place = place_at_usual_sag(machine, corner, rider, ranges)
    if place is None:
        raise InputError(
            f"{machine.name}, {corner.name}: spring or load is not known well enough for a damping ratio; "
            "expected a coil, or air with area and volume. Add them, or name a known-good damper with --like."
        )
    slowest = next(iter(vocabulary_of(shop).bands.values()))
    windows, boiling = wanted_as_felt(damper, place, band=slowest, ratios=ranges.damping_ratios)
    words = ", ".join(f"{stroke} {one[0]:g} to {one[1]:g}" for stroke, one in ranges.damping_ratios.items())
    reason = (
        f"Asked for: a damping ratio at sag of {words}; common practice, no source. "
        "A known-good damper says more: --like."
    )
    return windows, (reason, *boiling)


def _like(
    like: Path, damper: Damper, corner: Corner, sag: float, tolerance: float, shop: Path
) -> tuple[tuple[Window, ...], tuple[str, ...]]:
    from optimiser.files.damper_builder import read_damper
    from optimiser.files.symptoms_file import vocabulary_of
    from optimiser.files.tune_file import is_tune, read_tune
    from optimiser.studies.delivered.wanted import wanted_as_known

    if is_tune(like):
        tune = read_tune(like)
        known, leverage, name = tune.damper, tune.corner.leverage, f"{tune.name}, {tune.damper.name}"
    else:
        known, leverage = read_damper(like).damper, corner.leverage
        name = f"{known.name} on this frame"
    windows, reasons = wanted_as_known(
        damper,
        corner.leverage,
        known=known,
        known_leverage=leverage,
        bands=tuple(vocabulary_of(shop).bands.values()),
        sag=sag,
        tolerance=tolerance,
    )
    return windows, (
        f"Asked for: the wheel forces of {name}, within {share_text(tolerance)}.",
        *reasons,
    )


def _keys(
    damper: str,
    bike: str,
    corner: str,
    suits: Suits,
    bands: Sequence[WantedBand],
    reasons: Sequence[str],
) -> dict[str, object]:
    return {
        "format": "shimwright suits 1",
        "damper": damper,
        "bike": bike,
        "corner": corner,
        "verdict": suits.verdict.value,
        "said": suits.said,
        "clicks_out": dict(suits.clicks),
        "number_of_changes": suits.changes,
        "proven": suits.proven,
        "bands": [
            {
                "name": band.name,
                "wheel_velocity_m_s": round(band.velocity, 4),
                "wheel_force_n": round(band.got, 3),
                "least_n": round(band.least, 3),
                "most_n": round(band.most, 3),
                "off_percent": round(100 * band.off, 2),
            }
            for band in bands
        ],
        "reasons": list(reasons),
    }


def _show(
    title: str, suits: Suits, bands: Sequence[WantedBand], reasons: Sequence[str], units: UnitSystem
) -> None:
    say(f"{title}: {suits.verdict.value}.")
    say(suits.said)
    say("\nAt the wheel, at sag, where each band is furthest off:")
    for band in bands:
        got, least, most = (units.force_text(force) for force in (band.got, band.least, band.most))
        way = (
            "inside"
            if not band.off
            else f"{share_text(abs(band.off))} too {'soft' if band.off < 0 else 'firm'}"
        )
        speed = f"{units.velocity_text(band.velocity)} {units.velocity_unit}"
        say(f"  {band.name}, {speed}: {got} {units.force_unit}, asked for {least} to {most}: {way}")
    for reason in reasons:
        say(reason)
