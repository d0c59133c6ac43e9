"""The event behind a symptom, ridden on a damper before and after: by its first step, or by what a plan recommends."""

from __future__ import annotations

import os
from dataclasses import dataclass, replace
from pathlib import Path
from unittest.mock import patch

import numpy as np

from damping_model.errors import ModelError
from optimiser.errors import ShimwrightError
from optimiser.files.job_reader import read_job
from optimiser.files.shop_folder import TRUSTED
from optimiser.intake.bands import SIGN
from optimiser.intake.complaint import NamedBand, Symptom
from optimiser.jobs.plan import plan_job
from optimiser.jobs.ride_band import event_of_words
from optimiser.jobs.ride_job import ride_job, steps_to_ride
from optimiser.jobs.ride_machine import corner_to_ride, machine_to_ride, own_damper
from optimiser.ride.as_ridden import OwnDamper
from optimiser.ride.events import Behind
from optimiser.ride.telling import Told, told
from optimiser.search import Control
from tests.benchmarks.words.fleet import RiddenDamper, job_text
from tests.benchmarks.words.rows import by_processor_time
from tests.helpers.paths import ROOT


def demo_fleet() -> tuple[RiddenDamper, ...]:
    """The dampers of the shop that comes with the program."""
    shop = ROOT / "inventory_demo"
    return tuple(
        RiddenDamper(
            damper=shop / "dampers" / f"{damper}.toml",
            bike=shop / "bikes" / f"{bike}.toml",
            rider=shop / "riders" / f"{rider}.toml",
            shelf=shop / "shelf.csv",
            end=end,
            compression=compression,
            rebound="rebound stack",
        )
        for damper, bike, rider, end, compression in (
            ("tarn_shock", "oxlip_trail", "ines", "rear", "compression stack"),
            ("dunnock_shock", "oxlip_trail", "tobias", "rear", "compression stack"),
            ("yaffle_fork", "oxlip_trail", "ines", "front", "base compression stack"),
            ("morwen_shock", "fell_motocross", "jonas", "rear", "compression stack"),
            ("osier_shock", "tansy_buggy", "bruno", "rear", "compression stack"),
        )
    )


@dataclass(frozen=True, slots=True)
class RiddenRow:
    """One symptom on one damper, ridden before and after what the plan recommends.

    Parameters
    ----------
    name : damper and symptom.
    words : a line about it.
    overlaps : whether the simulated window meets the band of the words.
    right : whether the event's own figure moves the right way; None where nothing is recommended.
    """

    name: str
    words: str
    overlaps: bool
    right: bool | None


def ridden_row(damper: RiddenDamper, symptom: Symptom, *, folder: Path, time_limit: float) -> RiddenRow:
    """Plan a job in words, and ride the event behind it before and after."""
    name = f"{damper.name}: {symptom.name}"
    path = folder / f"{damper.name}, {symptom.name}.toml"
    path.write_text(job_text(damper, symptom), encoding="utf-8")
    try:
        with by_processor_time(), patch.dict(os.environ, {TRUSTED: "1"}):
            job = read_job(path)
        event = event_of_words(job, symptom.name)
        behind = job.rides.behind_symptom(symptom.name)
        assert event is not None
        assert behind is not None
        with by_processor_time():
            planned = plan_job(job, control=Control(time_limit=time_limit, cores=1))
        shown = planned.shown
        steps = [step for step in planned.ladder if step.best == shown][:1]
        if shown is not None and not steps:
            steps = [
                step
                for step in planned.ladder
                if (step.best.stack, step.best.setting) == (shown.stack, shown.setting)
            ][:1]
        ride = ride_job(
            job,
            [event],
            steps=steps_to_ride(steps),
            stack_name=planned.mounted.name,
            settings=planned.settings,
        )
    except (ShimwrightError, ModelError) as error:
        return RiddenRow(name, f"refused: {error}", overlaps=False, right=None)
    band, one = job.vocabulary.bands[symptom.band], ride.events[0]
    if not one.after:
        seen = _judged(name, symptom, behind, band, one.before, one.before)
        return replace(seen, words=f"{seen.words}; nothing recommended ({planned.outcome})", right=None)
    return _judged(name, symptom, behind, band, one.before, one.after[0])


def shifted(damper: OwnDamper, symptom: Symptom, *, low: float, high: float) -> OwnDamper:
    """A damper whose force in the symptom's band moves by its first step, and not an octave further."""
    curve, sign = damper.damping, SIGN[symptom.stroke]
    velocities = np.asarray(curve.velocities)
    speeds = np.where(velocities == 0, low / 4, np.abs(velocities))
    share = np.clip(np.minimum(np.log2(speeds / low) + 1, 1 - np.log2(speeds / high)), 0.0, 1.0)
    factors = np.where(np.sign(velocities) == sign, 1 + symptom.shift * share, 1.0)
    forces = tuple(float(force) for force in factors * np.asarray(curve.forces))
    return replace(damper, damping=replace(curve, forces=forces))


def shifted_row(damper: RiddenDamper, symptom: Symptom, *, folder: Path) -> RiddenRow:
    """Ride the event behind a symptom with the damper as it is, and with the first step alone."""
    name = f"{damper.name}: {symptom.name}"
    path = folder / f"{damper.name}, {symptom.name}.toml"
    path.write_text(job_text(damper, symptom), encoding="utf-8")
    try:
        with patch.dict(os.environ, {TRUSTED: "1"}):
            job = read_job(path)
        event, behind = event_of_words(job, symptom.name), job.rides.behind_symptom(symptom.name)
        assert event is not None
        assert behind is not None
        corner, own = corner_to_ride(job), own_damper(job, job.damper.damper)
        band = job.vocabulary.bands[symptom.band]
        bands = tuple(job.vocabulary.bands.values())
        before, after = (
            told(event, machine_to_ride(job, corner, one, event), bands=bands)
            for one in (own, shifted(own, symptom, low=band.low, high=band.high))
        )
    except (ShimwrightError, ModelError) as error:
        return RiddenRow(name, f"refused: {error}", overlaps=False, right=None)
    return _judged(name, symptom, behind, band, before, after)


def _judged(
    name: str, symptom: Symptom, behind: Behind, band: NamedBand, before: Told, after: Told
) -> RiddenRow:
    window = before.window(symptom.stroke)
    overlaps = window is not None and window.overlaps(band.low, band.high)
    seen = "no work" if window is None else f"{window.low:.2f} to {window.high:.2f}"
    words = f"{symptom.stroke} {seen} against {band.low:g} to {band.high:g} m/s"
    one, other = before.figures.of(behind.figure), after.figures.of(behind.figure)
    if one is None or other is None:
        return RiddenRow(name, f"{words}; {behind.figure}: never", overlaps, right=False)
    right = other < one if behind.better == "less" else other > one
    return RiddenRow(
        name, f"{words}; {behind.figure} {one:.4g} -> {other:.4g}, {behind.better} wanted", overlaps, right
    )
