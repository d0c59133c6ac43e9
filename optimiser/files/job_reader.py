"""A job with everything that it names, read and held against one another before any physics runs."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from pathlib import Path

from optimiser.errors import InputError
from optimiser.files.base import read_toml
from optimiser.files.bike_file import BikeFile
from optimiser.files.damper_file import DamperFile, StackSection
from optimiser.files.job_file import JobFile
from optimiser.files.rider_file import RiderFile
from optimiser.files.shelf import Shelf, read_shelf


@dataclass(frozen=True, slots=True)
class LoadedJob:
    """What the files say.

    Parameters
    ----------
    path : the job file.
    job, rider, bike, damper : as read.
    damper_path : the damper file.
    shelf : the shelf's lines.
    """

    path: Path
    job: JobFile
    rider: RiderFile
    bike: BikeFile
    damper: DamperFile
    damper_path: Path
    shelf: Shelf


def read_job(path: Path) -> LoadedJob:
    """Read a job file and the files that it names, which are found from the job file's folder.

    Raises
    ------
    InputError
        For whatever cannot be read or does not fit together, naming file, line and field.
    """
    job = read_toml(path, JobFile, what="job")
    beside = path.parent
    damper_path = beside / job.damper
    return LoadedJob(
        path=path,
        job=job,
        rider=read_toml(beside / job.rider, RiderFile, what="rider"),
        bike=read_toml(beside / job.bike, BikeFile, what="bike"),
        damper=read_damper(damper_path),
        damper_path=damper_path,
        shelf=read_shelf(beside / job.shelf),
    )


def read_damper(path: Path) -> DamperFile:
    """Read a damper file, without judging whether its stacks can be built."""
    return read_toml(path, DamperFile, what="damper")


def stack_named(damper: DamperFile, name: str | None, *, where: str) -> StackSection:
    """The stack that a job or a command means; without a name, the only one there is.

    Parameters
    ----------
    damper : whose stacks.
    name : of the stack, or None.
    where : the file and field, or the option, that gives the name; for messages.

    Raises
    ------
    InputError
        When there is no such stack, or several and none named.
    """
    stacks = {stack.name: stack for valve in damper.valve for stack in valve.stack}
    known = ", ".join(f"'{known}'" for known in stacks)
    if name is None:
        if len(stacks) == 1:
            return next(iter(stacks.values()))
        raise InputError(f"{where}: missing; expected one of {known}. Say which stack may change.")
    if name not in stacks:
        near = difflib.get_close_matches(name, stacks, n=1)
        hint = f"Did you mean '{near[0]}'?" if near else f"Known stacks: {known}."
        raise InputError(f"{where}: got {name!r}, expected a stack of {damper.name}. {hint}")
    return stacks[name]
