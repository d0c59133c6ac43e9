"""The shop's files that the guided questions offer, check and read, and the new ones that they enter."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from damping_model.units import MILLIMETRE
from optimiser.errors import InputError
from optimiser.files.base import read_toml
from optimiser.files.bike_file import BikeFile
from optimiser.files.damper_file import DamperFile
from optimiser.files.entry.entry_questions import NewFile
from optimiser.files.entry.places import shop_of
from optimiser.files.entry.shelf_entry import shelf_questions
from optimiser.files.rider_file import RiderFile
from optimiser.files.shelf import read_shelf
from optimiser.files.shop_folder import read_named
from optimiser.files.symptoms_file import vocabulary_of
from optimiser.intake.complaint import Vocabulary
from optimiser.intake.questions import FILES, NEW, Known, Question
from optimiser.report.section_text import damper_drawing
from optimiser.ride.as_ridden import FRONT


def known_of(job: Path, answers: dict[str, str]) -> Known:
    """What is known when the next question is put."""
    bike = bike_of(job, answers)
    damper = damper_of(job, answers, bike)
    return Known(
        vocabulary=_vocabulary(job, answers),
        files={key: _files_for(key, job) for key in FILES},
        check_file=lambda key, text: _checked_file(key, text, job),
        entry=lambda key, said: _entry_questions(key, job, said, bike, damper),
        corners=_corners(bike),
        stacks=_stacks(damper),
        damper_ends=_damper_ends(bike, damper),
    )


def corners_of(job: Path, answers: Mapping[str, str]) -> tuple[str, ...]:
    """Names of the wheels of the bike that was answered; none before that."""
    return _corners(bike_of(job, answers))


def bike_of(job: Path, answers: Mapping[str, str]) -> BikeFile | None:
    """The bike that was answered, or is being entered; None before that."""
    bike = _file_of("bike", job, answers)
    return bike if isinstance(bike, BikeFile) else None


def damper_of(job: Path, answers: Mapping[str, str], bike: BikeFile | None) -> DamperFile | None:
    """The damper that was answered, or is being entered; None before that."""
    damper = _file_of("damper", job, answers, bike)
    return damper if isinstance(damper, DamperFile) else None


def _vocabulary(job: Path, answers: Mapping[str, str]) -> Vocabulary:
    shelf = answers.get("shelf", "")
    if shelf == NEW:
        return vocabulary_of(shop_of(job))
    return read_named(job, shelf, lambda named: vocabulary_of(named.parent))


def new_file(key: str, job: Path, answers: Mapping[str, str], bike: BikeFile | None = None) -> NewFile:
    """A rider, bike or damper that is being entered, with what was said of it so far."""
    return NewFile(key, shop_of(job), answers, bike)


def _entry_questions(
    key: str, job: Path, answers: Mapping[str, str], bike: BikeFile | None, damper: DamperFile | None
) -> Iterable[Question]:

    if key == "shelf":
        return shelf_questions(damper)
    return new_file(key, job, answers, bike).questions(damper_drawing)


def _files_for(key: str, job: Path) -> tuple[str, ...]:
    """Files of the shop that fit a question, as the job will name them."""
    folders = (job.parent, job.parent.parent) if job.parent.parent != job.parent else (job.parent,)
    pattern = "shelf*.csv" if key == "shelf" else f"{key}s/*.toml"
    found = {os.path.relpath(path, job.parent) for folder in folders for path in folder.glob(pattern)}
    return tuple(sorted(Path(path).as_posix() for path in found))


def _checked_file(key: str, text: str, job: Path) -> str:
    """The path from the job's folder to a file that can be read, or 'new'; a number in the list will do."""
    choices = (*_files_for(key, job), NEW)
    word = text.strip()
    if not word.isprintable():
        raise InputError(f"got {text!r}, expected the name of a file.")
    if word.isdecimal() and 1 <= int(word) <= len(choices):
        word = choices[int(word) - 1]
    if word.lower() == NEW:
        return NEW
    from_job, from_here = job.parent / word, Path(word)
    path = from_here if not _there(from_job) and _there(from_here) else from_job
    named = Path(os.path.relpath(path, job.parent)).as_posix()
    _read(key, named, job)
    return named


def _there(path: Path) -> bool:
    """Whether there is such a file; a name that no file can have is none."""
    try:
        return path.exists()
    except OSError:
        return False


def _read(key: str, name: str, job: Path) -> object:
    """Read a file as the job will name it; answers may come from a stranger, as a job may."""
    readers: dict[str, Callable[[Path], object]] = {
        "rider": lambda path: read_toml(path, RiderFile, what="rider"),
        "bike": lambda path: read_toml(path, BikeFile, what="bike"),
        "damper": lambda path: read_toml(path, DamperFile, what="damper"),
        "shelf": read_shelf,
    }
    return read_named(job, name, readers[key])


def _file_of(key: str, job: Path, answers: Mapping[str, str], bike: BikeFile | None = None) -> object:
    said = answers.get(key)
    if not said:
        return None
    return new_file(key, job, answers, bike).file() if said == NEW else _read(key, said, job)


def _corners(bike: BikeFile | None) -> tuple[str, ...]:
    return () if bike is None else tuple(corner.name for corner in bike.corner)


def _stacks(damper: DamperFile | None) -> tuple[str, ...]:
    return () if damper is None else tuple(stack.name for valve in damper.valve for stack in valve.stack)


def _damper_ends(bike: BikeFile | None, damper: DamperFile | None) -> tuple[str, ...]:
    if bike is None or damper is None:
        return ()
    corners = bike.machine().corners_worked_by(stroke=damper.stroke_mm * MILLIMETRE)
    return tuple(sorted({corner.end for corner in corners})) or ((FRONT,) if damper.fits == "fork" else ())
