"""The invented shop that comes with the program, copied out for someone to play with."""

from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from optimiser.errors import InputError
from optimiser.files.writing import write_whole

KINDS = (".toml", ".csv")


def lay_out(folder: Path) -> None:
    """Copy every file of the demo shop into a folder, made if it is not there.

    Raises
    ------
    InputError
        When the folder cannot be made or written.
    """
    _copy(files("inventory_demo"), folder)


def _copy(source: Traversable, target: Path) -> None:
    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{target}: cannot be made ({error.strerror}). Choose another place.") from None
    for entry in source.iterdir():
        if entry.is_dir() and not entry.name.startswith("_"):
            _copy(entry, target / entry.name)
        elif entry.name.endswith(KINDS):
            write_whole(target / entry.name, entry.read_text(encoding="utf-8"))
