"""The shop's files that the guided questions offer, check and read."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from damping_model.units import MILLIMETRE
from optimiser.errors import InputError
from optimiser.files.base import read_toml
from optimiser.files.bike_file import BikeFile
from optimiser.files.damper_file import DamperFile
from optimiser.files.rider_file import RiderFile
from optimiser.files.shelf import read_shelf
from optimiser.files.shop_folder import read_named
from optimiser.files.symptoms_file import vocabulary_of
from optimiser.intake.questions import FILES, Known


def known_of(job: Path, answers: dict[str, str]) -> Known:
    """What is known when the next question is put."""
    return Known(
        vocabulary=read_named(job, answers.get("shelf", ""), lambda named: vocabulary_of(named.parent)),
        files={key: _files_for(key, job) for key in FILES},
        check_file=lambda key, text: _checked_file(key, text, job),
        corners=corners_of(job, answers),
        stacks=_stacks(job, answers),
        damper_ends=_damper_ends(job, answers),
    )


def _files_for(key: str, job: Path) -> tuple[str, ...]:
    """Files of the shop that fit a question, as the job will name them."""
    folders = (job.parent, job.parent.parent) if job.parent.parent != job.parent else (job.parent,)
    pattern = "shelf*.csv" if key == "shelf" else f"{key}s/*.toml"
    found = {os.path.relpath(path, job.parent) for folder in folders for path in folder.glob(pattern)}
    return tuple(sorted(Path(path).as_posix() for path in found))


def _checked_file(key: str, text: str, job: Path) -> str:
    """The path from the job's folder to a file that can be read; its number in the list will do."""
    choices = _files_for(key, job)
    word = text.strip()
    if not word.isprintable():
        raise InputError(f"got {text!r}, expected the name of a file.")
    if word.isdecimal() and 1 <= int(word) <= len(choices):
        word = choices[int(word) - 1]
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


def corners_of(job: Path, answers: dict[str, str]) -> tuple[str, ...]:
    """Names of the wheels of the bike that was answered; none before that."""
    bike = _bike(job, answers)
    return () if bike is None else tuple(corner.name for corner in bike.corner)


def _stacks(job: Path, answers: dict[str, str]) -> tuple[str, ...]:
    damper = _damper(job, answers)
    return () if damper is None else tuple(stack.name for valve in damper.valve for stack in valve.stack)


def _damper_ends(job: Path, answers: dict[str, str]) -> tuple[str, ...]:
    bike, damper = _bike(job, answers), _damper(job, answers)
    if bike is None or damper is None:
        return ()
    corners = bike.machine().corners_worked_by(stroke=damper.stroke_mm * MILLIMETRE)
    return tuple(sorted({corner.end for corner in corners}))


def _bike(job: Path, answers: dict[str, str]) -> BikeFile | None:
    bike = _read("bike", answers["bike"], job) if answers.get("bike") else None
    return bike if isinstance(bike, BikeFile) else None


def _damper(job: Path, answers: dict[str, str]) -> DamperFile | None:
    damper = _read("damper", answers["damper"], job) if answers.get("damper") else None
    return damper if isinstance(damper, DamperFile) else None
