"""Files that a job names: those of its shop are read, others only with a yes, and nothing of them is shown.

A job may come from a stranger. Without this it could name any file of this machine, whose first lines would
then stand in an error message.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Final, TypeVar

from damping_model.errors import ModelError
from optimiser.errors import InputError

TRUSTED: Final = "SHIMWRIGHT_OUTSIDE"
"""Environment variable that says yes to files outside the shop's folder; processes that plan inherit it."""

FOLDERS: Final = ("dampers", "bikes", "riders")
"""One of them, or a shelf, makes a folder a shop's."""

Read = TypeVar("Read")


def shop_folder(file: Path) -> Path:
    """The shop's folder that a job or a tune belongs to: its own folder, or a shop's above it."""
    own = file.resolve().parent
    return next((folder for folder in (own, own.parent) if _is_shop(folder)), own)


def read_named(by: Path, name: str, read: Callable[[Path], Read]) -> Read:
    """Read a file that a job or a tune names, from that file's own folder.

    Parameters
    ----------
    by : the job or tune.
    name : as it stands there.
    read : reads the file.

    Raises
    ------
    InputError
        When it lies outside the shop's folder and nobody said yes to that, or cannot be used.
    """
    path = by.parent / name
    _refuse_path_from_the_shop(by, name, path)
    if _inside(path, shop_folder(by)):
        return read(_without_detours(path))
    if os.environ.get(TRUSTED) != "1":
        raise InputError(
            f"{by}: got the file {path}, which lies outside the shop's folder {shop_folder(by)}; expected a "
            "file of the shop. Copy it there; or, if you trust the job, type 'shimwright --outside' in front."
        )
    try:
        return read(path)
    except (InputError, ModelError):
        raise InputError(
            f"{by}: the file {path} cannot be used. It lies outside the shop's folder, so nothing of it is "
            "shown; copy it into the shop to see what is wrong."
        ) from None


def _without_detours(path: Path) -> Path:
    """A path as a person would write it, ``dampers/a.toml`` for ``jobs/../dampers/a.toml``."""
    short = Path(os.path.normpath(path))
    try:
        return short if short.resolve() == path.resolve() else path
    except (OSError, ValueError, RuntimeError):
        return path


def _refuse_path_from_the_shop(by: Path, name: str, path: Path) -> None:
    """Say how to write a name that was given from the shop's folder, and not from the file's own."""
    try:
        meant = shop_folder(by) / name
        if path.exists() or not meant.is_file() or not _inside(meant, shop_folder(by)):
            return
    except (OSError, ValueError, RuntimeError):
        return
    here = Path(os.path.relpath(meant, by.parent.resolve())).as_posix()
    raise InputError(
        f"{by}: got the file {name!r}, expected its path from the folder of {by.name}. Write {here!r}."
    )


def _is_shop(folder: Path) -> bool:
    return any((folder / name).is_dir() for name in FOLDERS) or any(folder.glob("shelf*.csv"))


def _inside(path: Path, folder: Path) -> bool:
    """Whether a file lies in a folder, links followed; a name that no file has is left to the reader."""
    try:
        return path.resolve().is_relative_to(folder)
    except (OSError, ValueError, RuntimeError):
        return True
