"""A machine's columns, named once and remembered in the shop's folder."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import Annotated, Final

import tomlkit
from pydantic import Field

from optimiser.errors import InputError
from optimiser.files.base import FileModel, read_toml
from optimiser.files.dyno.columns import NEED_NO_UNIT, Column, ColumnRole, unit_of
from optimiser.files.shop_folder import shop_folder
from optimiser.files.writing import write_whole

FOLDER: Final = "dyno_machines"
"""In the shop's folder."""

MOST: Final = 100
"""Machines of one shop that are looked through."""

Text = Annotated[str, Field(min_length=1, max_length=120)]


class ColumnSection(FileModel):
    """One column of a machine."""

    header: Text
    """As the machine writes it."""
    holds: ColumnRole
    """What it is."""
    unit: Annotated[str, Field(max_length=20)] = ""
    """Its unit; none for run and clicks."""
    adjuster: Annotated[str, Field(max_length=60)] = ""
    """Whose clicks they are."""


class DynoMachineFile(FileModel):
    """What the columns of a dyno are."""

    name: Text
    """Of the machine."""
    column: Annotated[list[ColumnSection], Field(min_length=1, max_length=60)]
    """Those that are read."""


def machines_of(file: Path) -> Iterator[tuple[str, tuple[Column, ...]]]:
    """Machines that the shop of a dyno file remembers, by name."""
    folder = shop_folder(file) / FOLDER
    if folder.is_dir():
        for path in sorted(islice(folder.glob("*.toml"), MOST)):
            yield _read(path)


def machine_named(file: Path, name: str) -> tuple[Column, ...]:
    """Columns of a machine of the shop.

    Raises
    ------
    InputError
        When the shop remembers none of that name.
    """
    path = _place(file, name)
    if not path.exists():
        known = ", ".join(repr(one) for one, _ in machines_of(file)) or "none"
        raise InputError(
            f"--machine: got {name!r}, expected a machine that this shop remembers: {known}. "
            f"Remember one with --remember {name}."
        )
    return _read(path)[1]


def remember(file: Path, name: str, columns: Sequence[Column]) -> Path:
    """Write what a machine's columns are into the shop's folder, in the place of what stood there.

    Raises
    ------
    InputError
        When the name will not do for a file, or the folder cannot be written.
    """
    path = _place(file, name)
    table = tomlkit.document()
    table.add(tomlkit.comment("Columns of a dyno, written by 'shimwright dyno --remember'."))
    table["name"] = name
    rows = tomlkit.aot()
    for column in columns:
        row = tomlkit.table()
        row["header"], row["holds"] = column.header, column.role.value
        if column.unit:
            row["unit"] = column.unit
        if column.adjuster:
            row["adjuster"] = column.adjuster
        rows.append(row)
    table["column"] = rows
    try:
        path.parent.mkdir(exist_ok=True)
    except OSError as error:
        raise InputError(
            f"{path.parent}: cannot be made ({error.strerror}). Nothing is remembered."
        ) from None
    write_whole(path, tomlkit.dumps(table))
    return path


def _place(file: Path, name: str) -> Path:
    if not re.fullmatch(r"[\w][\w .-]{0,50}", name):
        raise InputError(
            f"got the machine's name {name[:40]!r}, expected letters, digits, spaces, dots or dashes."
        )
    return shop_folder(file) / FOLDER / f"{name}.toml"


def _read(path: Path) -> tuple[str, tuple[Column, ...]]:
    machine = read_toml(path, DynoMachineFile, what="dyno machine")
    columns = []
    for section in machine.column:
        unit = "" if section.holds in NEED_NO_UNIT else unit_of(section.unit, section.holds)
        if unit is None:
            raise InputError(
                f"{path}: got the unit {section.unit!r} for {section.holds.value}, expected one of its units."
            )
        columns.append(Column(section.header, section.holds, unit, section.adjuster))
    return machine.name, tuple(columns)
