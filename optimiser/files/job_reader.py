"""A job with everything that it names, read and held against one another before any physics runs."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from damping_model.units import MEGAPASCAL, MILLIMETRE, kelvin
from optimiser.errors import InputError
from optimiser.files.at_hand_section import MINUTE
from optimiser.files.base import read_toml
from optimiser.files.basics_ranges_file import read_ranges
from optimiser.files.bike_file import read_machine
from optimiser.files.carry_section import CarrySection
from optimiser.files.damper_builder import read_damper, read_known_damper
from optimiser.files.fitted_runs import fitted_runs
from optimiser.files.job_file import JobFile, WorkSection
from optimiser.files.rider_file import RiderFile
from optimiser.files.rides_file import rides_of
from optimiser.files.shelf import read_shelf
from optimiser.files.shop_folder import read_named
from optimiser.files.symptoms_file import vocabulary_of
from optimiser.intake.complaint import Vocabulary
from optimiser.intake.job_goal import Asked
from optimiser.jobs.job import Job, KnownFeel, WorkOptions
from optimiser.model.damper_answer import HOUR, WorkTimes
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
    file = read_toml(path, JobFile, what="job")
    known = read_named(path, file.damper, read_known_damper)
    rider = read_named(path, file.rider, lambda named: read_toml(named, RiderFile, what="rider"))
    machine = read_named(path, file.bike, read_machine)
    vocabulary = read_named(path, file.shelf, lambda named: vocabulary_of(named.parent))
    if not file.moves_something:
        raise InputError(f"{path}: complaint.words: {_only_words(file.complaint.words, vocabulary)}")
    ranges = read_ranges()
    with _said_of(f"{path}: bike: {file.bike}: kind"):
        ranges.of(machine.kind)
    if file.complaint.symptom is not None and not file.target and file.carry is None:
        with _said_of(f"{path}: complaint.symptom"):
            vocabulary.symptom(file.complaint.symptom)
    return Job(
        path=path,
        title=file.title,
        shop=file.shop,
        number=file.number or path.stem,
        words=file.complaint.words or rider.words,
        rider=rider.rider(),
        machine=machine,
        damper=known.description,
        knowledge=known.knowledge,
        runs=fitted_runs(known.description),
        asked=_asked(file),
        known_feel=None if file.carry is None else _known_feel(file.carry, by=path),
        basics=file.basics.values(),
        notes=file.brackets.notes(),
        work=_work(file.work),
        at_hand=tuple(
            one.value(filled_with=known.description.damper.oil, where=str(path)) for one in file.at_hand
        ),
        stock=read_named(path, file.shelf, read_shelf).stock,
        shelf=path.parent / file.shelf,
        vocabulary=vocabulary,
        ranges=ranges,
        rides=read_named(path, file.shelf, lambda named: rides_of(named.parent)),
    )


@contextmanager
def _said_of(where: str) -> Iterator[None]:
    """Put the place in a file in front of what is wrong with what stands there."""
    try:
        yield
    except InputError as error:
        raise InputError(f"{where}: {error}") from None


def _only_words(words: str, vocabulary: Vocabulary) -> str:
    """What to write beside words, which are not interpreted."""
    heard = vocabulary.heard_in(words)
    names = ", ".join(f'symptom = "{row.name}"' for row in heard or vocabulary.symptoms)
    return (
        "got what the rider says and nothing that has to move; expected a symptom under [complaint] besides, "
        f"or velocities, an event, or a [[target]]. {'Heard in these words' if heard else 'Known'}: {names}."
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


def _known_feel(carry: CarrySection, *, by: Path) -> KnownFeel:
    return KnownFeel(
        machine=read_named(by, carry.known_bike, read_machine),
        damper=read_named(by, carry.known_damper, read_damper).damper,
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
        times=WorkTimes(
            opening=work.opening_minutes * MINUTE,
            one_more=work.hours_to_open * HOUR,
            change=work.change_minutes * MINUTE,
        ),
        stress=StressRule(limit=work.stress_limit_mpa * MEGAPASCAL, reason=work.stress_reason),
    )
