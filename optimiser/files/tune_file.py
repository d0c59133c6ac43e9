"""A tune on record as liked: which damper, on which machine, under whom; files named from its own folder."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from pydantic import Field

from damping_model.damper.damper import Damper
from optimiser.errors import InputError
from optimiser.files.base import FileModel, read_text, read_toml
from optimiser.files.bike_file import read_machine
from optimiser.files.damper_builder import read_damper
from optimiser.files.rider_file import RiderFile
from optimiser.files.shop_folder import read_named
from optimiser.files.toml_text import tables_of
from optimiser.intake.machine import Corner, Machine, Rider

Name = Annotated[str, Field(min_length=1, max_length=80)]


class TuneFile(FileModel):
    """A damper that a rider liked on a machine."""

    name: Name
    rider: str
    bike: str
    damper: str
    corner: Name
    liked: str = ""
    """What the rider said, word for word."""


@dataclass(frozen=True, slots=True)
class Tune:
    """A liked tune with everything that it names.

    Parameters
    ----------
    path : the tune file.
    name : what the shop calls it.
    machine, corner, rider, damper : what was ridden, where the damper sits, by whom.
    liked : what the rider said, word for word.
    """

    path: Path
    name: str
    machine: Machine
    corner: Corner
    rider: Rider
    damper: Damper
    liked: str


def is_tune(path: Path) -> bool:
    """Whether a file names a machine, as a tune does and a damper does not."""
    text = read_text(path, what="damper or tune")
    try:
        return "bike" in tables_of(text, name=str(path))
    except InputError:
        return False


def read_tune(path: Path) -> Tune:
    """Read a tune file and the files that it names.

    Raises
    ------
    InputError
        Naming file, line and field.
    """
    file = read_toml(path, TuneFile, what="tune")
    machine = read_named(path, file.bike, read_machine)
    rider = read_named(path, file.rider, lambda named: read_toml(named, RiderFile, what="rider")).rider()
    try:
        corner = machine.corner(file.corner)
    except InputError as error:
        raise InputError(f"{path}: corner: {error}") from None
    damper = read_named(path, file.damper, read_damper).damper
    return Tune(path, file.name, machine, corner, rider, damper, file.liked)


def read_tunes(folder: Path) -> tuple[Tune, ...]:
    """Every tune of a folder, in order of their files' names.

    Raises
    ------
    InputError
        When there is no such folder, or a file in it cannot be read.
    """
    if not folder.is_dir():
        raise InputError(
            f"{folder}: no such folder; expected one with a .toml file for each tune that was liked. "
            "Name it with --tunes."
        )
    return tuple(read_tune(path) for path in sorted(folder.glob("*.toml")))
