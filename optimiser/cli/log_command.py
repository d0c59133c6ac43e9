"""``shimwright log``: what a wheel did on a ride, from a log of its travel."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from optimiser.actions.job_places import job_name
from optimiser.cli.ledger_options import shop_option
from optimiser.cli.options import json_option, units_option
from optimiser.cli.saying import say, say_json
from optimiser.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from optimiser.files.ride_log.reader import RideLog, SaidOfLog
    from optimiser.ride_log.trace import Treatment, WheelMotion
    from optimiser.ride_log.wheel_ride import WheelRide

    Treatments = Mapping[str | None, Treatment]


@click.command("log")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--bike", type=click.Path(path_type=Path), help="The machine that was ridden.")
@click.option("--corner", help="Look at this wheel alone.")
@click.option("--from", "first", type=float, metavar="S", help="Where the rider's moment begins.")
@click.option("--to", "last", type=float, metavar="S", help="Where it ends.")
@click.option(
    "--stroke", type=click.Choice(["compression", "rebound"]), help="Stroke of the moment that is meant."
)
@click.option("--over", type=click.Path(path_type=Path), help="Another run, to lay this one over.")
@click.option(
    "--predicted",
    type=click.Path(path_type=Path),
    help="What was predicted of this run: columns of time and travel.",
)
@click.option("--record", "recorded", metavar="JOB", help="Write down how far the prediction of JOB was off.")
@click.option("--logger", metavar="NAME", help="Columns of a logger that this shop remembers.")
@click.option("--remember", metavar="NAME", help="Write these columns down as those of a logger.")
@click.option(
    "--column", "columns", multiple=True, metavar="WHAT=HEADER:UNIT", help="A column: 'rear=Sensor 2:mm'."
)
@click.option(
    "--calibrate",
    "calibrations",
    multiple=True,
    metavar="CORNER=...",
    help="Two readings with their travel: 'rear=0.52:0 mm, 4.21:140 mm'.",
)
@click.option(
    "--zero", "zeros", multiple=True, metavar="CORNER=L", help="Read at full extension: 'rear=3.5 mm'."
)
@click.option(
    "--sample-rate", type=click.FloatRange(20, 20_000), metavar="HZ", help="Believed before the time column."
)
@click.option("--cut-off", type=click.FloatRange(1, 2000), metavar="HZ", help="One low-pass for all of it.")
@click.option("--svg", type=click.Path(path_type=Path, dir_okay=False), help="Write the picture here.")
@shop_option
@units_option
@json_option
def command(
    file: Path,
    bike: Path | None,
    corner: str | None,
    first: float | None,
    last: float | None,
    stroke: Literal["compression", "rebound"] | None,
    over: Path | None,
    predicted: Path | None,
    recorded: str | None,
    logger: str | None,
    remember: str | None,
    columns: tuple[str, ...],
    calibrations: tuple[str, ...],
    zeros: tuple[str, ...],
    sample_rate: float | None,
    cut_off: float | None,
    svg: Path | None,
    shop: Path,
    units: Literal["metric", "imperial"],
    as_json: bool,
) -> None:
    """Read a log of a ride from FILE and show what the wheels did: how fast, where, and what happened.

    FILE is CSV of travel against time, as loggers write it: mm, per cent, or volts with a calibration.
    A moment that the rider names becomes a band for a job. Nothing is written unless an option asks for it.

    Example: shimwright log logs/oxlip_trail.csv --bike bikes/oxlip_trail.toml --from 7 --to 9
    """
    from optimiser.cli.log_options import refuse_unknown
    from optimiser.documents.ride_log import ride_log_document
    from optimiser.files.base import read_toml
    from optimiser.files.bike_file import BikeFile
    from optimiser.files.ride_log.logger_file import remember as remembered
    from optimiser.files.ride_log.reader import read_log
    from optimiser.files.shop_folder import shop_folder
    from optimiser.files.symptoms_file import vocabulary_of
    from optimiser.files.writing import write_whole
    from optimiser.report.console import terminal
    from optimiser.report.ride_log_picture import ride_svg
    from optimiser.report.ride_log_text import print_ride
    from optimiser.report.unit_system import UnitSystem
    from optimiser.ride_log.wheel_ride import MomentAsked, wheel_ride

    if recorded is not None and predicted is None:
        raise InputError("--record: got no --predicted, expected the trace that was predicted. Name it, too.")
    machine = None if bike is None else read_toml(bike, BikeFile, what="bike").machine()
    said, treated = _said(columns, calibrations, logger), _treatments(zeros, sample_rate, cut_off)
    log = read_log(file, machine=machine, said=said)
    asked = None
    if first is not None or last is not None or stroke is not None:
        asked = MomentAsked(first=first, last=last, stroke=stroke)
    motions = _motions(log, treated)
    if corner is not None:
        refuse_unknown(list(motions), [corner], "--corner")
        motions = {corner: motions[corner]}
    others = {} if over is None else _motions(read_log(over, machine=machine, said=said), treated)
    expected = (
        {} if predicted is None else _motions(read_log(predicted, machine=machine), _as_predicted(treated))
    )
    for option, path, there in (("--over", over, others), ("--predicted", predicted, expected)):
        if path is not None and not set(there) & set(motions):
            raise InputError(
                f"{option}: {path} has {', '.join(there)}, expected a wheel that {file} has: "
                f"{', '.join(motions)}. Name its columns alike."
            )
    bands = tuple(vocabulary_of(shop_folder(file)).bands.values())
    wheels = [
        wheel_ride(motion, bands, asked=asked, over=others.get(name), predicted=expected.get(name))
        for name, motion in motions.items()
    ]
    system = UnitSystem(units)
    if svg is not None:
        write_whole(svg, ride_svg(wheels, units=system))
    job = None if recorded is None or predicted is None else job_name(recorded)
    if job is not None and predicted is not None:
        _record(shop, job, wheels, (file, predicted))
    if as_json:
        document = ride_log_document(
            str(file), wheels, notes=log.notes, picture=None if svg is None else str(svg), recorded=job
        )
        say_json(document.model_dump_json(indent=2))
    else:
        print_ride(terminal(), wheels, notes=log.notes, units=system)
        if svg is not None:
            say(f"Drawn in {svg}.")
        if job is not None:
            _say_record(shop, job)
    if remember is not None:
        place = remembered(file, remember, log.columns)
        say(f"Remembered: {place}", err=as_json)


def _said(columns: Sequence[str], calibrations: Sequence[str], logger: str | None) -> SaidOfLog:
    from optimiser.cli.log_options import calibrations_typed, column_of
    from optimiser.files.ride_log.reader import SaidOfLog

    return SaidOfLog(
        columns=tuple(map(column_of, columns)), calibrations=calibrations_typed(calibrations), logger=logger
    )


def _treatments(zeros: Sequence[str], sample_rate: float | None, cut_off: float | None) -> Treatments:
    """By corner, with that of all others under None."""
    from optimiser.cli.log_options import zeros_typed
    from optimiser.ride_log.trace import Treatment

    found: dict[str | None, Treatment] = {None: Treatment(sample_rate=sample_rate, cut_off=cut_off)}
    for corner, zero in zeros_typed(zeros).items():
        found[corner] = Treatment(sample_rate=sample_rate, cut_off=cut_off, zero=zero)
    return found


def _as_predicted(treated: Treatments) -> Treatments:
    """The treatment of a predicted trace, whose zero is right and whose times are its own."""
    from dataclasses import replace

    return {None: replace(treated[None], sample_rate=None, zero=0.0, whole_ride=False)}


def _motions(log: RideLog, treated: Treatments) -> dict[str, WheelMotion]:
    """By corner."""
    from optimiser.cli.log_options import refuse_unknown
    from optimiser.ride_log.motion import motion_of

    refuse_unknown([one.corner for one in log.traces], [one for one in treated if one is not None], "--zero")
    return {
        trace.corner: motion_of(
            trace, None if corner is None else corner.leverage, treated.get(trace.corner, treated[None])
        )
        for trace, corner in zip(log.traces, log.corners, strict=True)
    }


def _record(shop: Path, job: str, wheels: Sequence[WheelRide], files: Sequence[Path]) -> None:
    from optimiser.files.fit_file import sha256_of
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.ride_predictions import record_ride
    from optimiser.ride_log.prediction_error import prediction_error

    found = [prediction_error(one.predicted[1]) for one in wheels if one.predicted is not None]
    fingerprint = hashlib.sha256("".join(map(sha256_of, files)).encode()).hexdigest()
    with Ledger.open(shop) as ledger:
        record_ride(ledger, job, found, files=fingerprint)


def _say_record(shop: Path, job: str) -> None:
    """What the record says by now."""
    import statistics

    from damping_model.units import MILLIMETRE
    from optimiser.ledger.connection import Ledger
    from optimiser.ledger.ride_predictions import recorded_rides

    with Ledger.open(shop) as ledger:
        rides = recorded_rides(ledger)
    wheels = [wheel for ride in rides for wheel in ride.wheels]
    travel = statistics.median(wheel.travel for wheel in wheels) / MILLIMETRE
    share = 100 * statistics.median(wheel.share for wheel in wheels)
    say(
        f"Written to the record of {job}. Rides recorded: {len(rides)}. The travel was off by "
        f"{travel:.1f} mm, root mean square, and no band's share of time by more than {share:.1f} points: "
        "middle values of all wheels."
    )
