"""Where a shop remembers what the columns of its instruments are: one small file an instrument."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any, Final

import tomlkit

from optimiser.errors import InputError
from optimiser.files.shop_folder import shop_folder
from optimiser.files.writing import write_whole

MOST: Final = 100
"""Instruments of one kind that are looked through."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """Instruments of one kind.

    Parameters
    ----------
    folder : in the shop's folder.
    what : an instrument is called.
    option : by which a person names one.
    """

    folder: str
    what: str
    option: str

    def files(self, beside: Path) -> list[Path]:
        """Those that the shop of a file remembers."""
        folder = shop_folder(beside) / self.folder
        return sorted(islice(folder.glob("*.toml"), MOST)) if folder.is_dir() else []

    def place(self, beside: Path, name: str) -> Path:
        """Where an instrument of a name is, or would be, remembered.

        Raises
        ------
        InputError
            When the name will not do for a file.
        """
        if not re.fullmatch(r"[\w][\w .-]{0,50}", name):
            raise InputError(
                f"got the {self.what}'s name {name[:40]!r}, expected letters, digits, spaces, dots or dashes."
            )
        return shop_folder(beside) / self.folder / f"{name}.toml"

    def known(self, beside: Path, name: str, names: Iterator[str]) -> Path:
        """The place of an instrument that is remembered.

        Parameters
        ----------
        beside : a file of the shop.
        name : of the instrument.
        names : of all that are, for the message.

        Raises
        ------
        InputError
            When the shop remembers none of that name.
        """
        path = self.place(beside, name)
        if not path.exists():
            known = ", ".join(map(repr, names)) or "none"
            raise InputError(
                f"{self.option}: got {name!r}, expected a {self.what} that this shop remembers: {known}. "
                f"Remember one with --remember {name}."
            )
        return path


def remembered_columns(
    name: str, columns: Iterable[Mapping[str, Any]], *, comment: str
) -> tomlkit.TOMLDocument:
    """What is written of an instrument: a comment, its name, and a table for each of its columns."""
    document = tomlkit.document()
    document.add(tomlkit.comment(comment))
    document["name"] = name
    rows = tomlkit.aot()
    for column in columns:
        row = tomlkit.table()
        row.update(column)
        rows.append(row)
    document["column"] = rows
    return document


def write_remembered(path: Path, document: tomlkit.TOMLDocument) -> Path:
    """Write what is remembered of an instrument, in the place of what stood there.

    Raises
    ------
    InputError
        When the folder cannot be written.
    """
    try:
        path.parent.mkdir(exist_ok=True)
    except OSError as error:
        raise InputError(
            f"{path.parent}: cannot be made ({error.strerror}). Nothing is remembered."
        ) from None
    write_whole(path, tomlkit.dumps(document))
    return path
