"""A machine's columns, named once and remembered in the shop's folder."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Annotated, Any, Final

from pydantic import Field

from optimiser.errors import InputError
from optimiser.files.base import FileModel, read_toml
from optimiser.files.dyno.columns import NEED_NO_UNIT, Column, ColumnRole, unit_of
from optimiser.files.instruments.remembered import Remembered, remembered_columns, write_remembered

DYNOS: Final = Remembered(folder="dyno_machines", what="machine", option="--machine")

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
    yield from map(_read, DYNOS.files(file))


def machine_named(file: Path, name: str) -> tuple[Column, ...]:
    """Columns of a machine of the shop.

    Raises
    ------
    InputError
        When the shop remembers none of that name.
    """
    return _read(DYNOS.known(file, name, (one for one, _ in machines_of(file))))[1]


def remember(file: Path, name: str, columns: Sequence[Column]) -> Path:
    """Write what a machine's columns are into the shop's folder, in the place of what stood there.

    Raises
    ------
    InputError
        When the name will not do for a file, or the folder cannot be written.
    """
    path = DYNOS.place(file, name)
    comment = "Columns of a dyno, written by 'shimwright dyno --remember'."
    return write_remembered(path, remembered_columns(name, map(_row, columns), comment=comment))


def _row(column: Column) -> dict[str, Any]:
    """What is written of one column."""
    row: dict[str, Any] = {}
    row["header"], row["holds"] = column.header, column.role.value
    if column.unit:
        row["unit"] = column.unit
    if column.adjuster:
        row["adjuster"] = column.adjuster
    return row


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
