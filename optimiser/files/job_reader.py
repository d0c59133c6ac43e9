"""A job with everything that it names, read and held against one another before any physics runs."""

from __future__ import annotations

from pathlib import Path

from damping_model.units import MEGAPASCAL, MILLIMETRE, kelvin
from optimiser.files.base import read_toml
from optimiser.files.basics_ranges_file import read_ranges
from optimiser.files.bike_file import BikeFile
from optimiser.files.carry_section import CarrySection
from optimiser.files.damper_builder import read_damper
from optimiser.files.job_file import JobFile, WorkSection
from optimiser.files.rider_file import RiderFile
from optimiser.files.shelf import read_shelf
from optimiser.files.symptoms_file import vocabulary_of
from optimiser.intake.job_goal import Asked
from optimiser.jobs.job import Job, KnownFeel, WorkOptions
from optimiser.model.stress import StressRule


def read_job(path: Path) -> Job:
    """Read a job file and the files that it names, which are found from the job file's folder.

    Parameters
    ----------
    path : the job file, TOML.

    Raises
    ------
    InputError
        For whatever cannot be read or does not fit together, naming file, line and field.
    GeometryError
        When the damper's spaces and valves do not join up.
    """
    file, beside = read_toml(path, JobFile, what="job"), path.parent
    rider = read_toml(beside / file.rider, RiderFile, what="rider")
    return Job(
        path=path,
        title=file.title,
        shop=file.shop,
        words=file.complaint.words or rider.words,
        rider=rider.rider(),
        machine=read_toml(beside / file.bike, BikeFile, what="bike").machine(),
        damper=read_damper(beside / file.damper),
        asked=_asked(file),
        known_feel=None if file.carry is None else _known_feel(file.carry, beside=beside),
        basics=file.basics.values(),
        notes=file.brackets.notes(),
        work=_work(file.work),
        stock=read_shelf(beside / file.shelf).stock,
        shelf=beside / file.shelf,
        vocabulary=vocabulary_of((beside / file.shelf).parent),
        ranges=read_ranges(),
    )


def _asked(file: JobFile) -> Asked:
    complaint, familiarity = file.complaint, file.complaint.familiarity_percent
    return Asked(
        complaint=complaint.complaint(),
        event=None if complaint.event is None else complaint.event.asked(),
        targets=tuple(target.band() for target in file.target),
        holds=tuple(hold.band() for hold in file.hold),
        familiarity=None if familiarity is None else familiarity / 100,
    )


def _known_feel(carry: CarrySection, *, beside: Path) -> KnownFeel:
    return KnownFeel(
        machine=read_toml(beside / carry.known_bike, BikeFile, what="bike").machine(),
        damper=read_damper(beside / carry.known_damper).damper,
        known_corner=carry.known_corner,
        corner=carry.corner,
        bands=tuple(band.band() for band in carry.band),
        stretch=carry.stretch,
    )


def _work(work: WorkSection) -> WorkOptions:
    return WorkOptions(
        stack=work.stack,
        most_changes=work.most_changes,
        candidates=work.candidates,
        height_may_grow=work.height_may_grow_mm * MILLIMETRE,
        height_may_shrink=work.height_may_shrink_mm * MILLIMETRE,
        from_scratch=work.from_scratch,
        clickers_to_middle=work.clickers_to_middle,
        temperature=None if work.temperature_c is None else kelvin(celsius=work.temperature_c),
        time_limit=work.time_limit_s,
        stress=StressRule(limit=work.stress_limit_mpa * MEGAPASCAL, reason=work.stress_reason),
    )
