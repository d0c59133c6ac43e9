"""A logger's columns, named once and remembered in the shop's folder."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Annotated, Any, Final, Literal

from pydantic import Field

from damping_model.units import MILLIMETRE
from optimiser.errors import InputError
from optimiser.files.base import FileModel, read_toml
from optimiser.files.instruments.remembered import Remembered, remembered_columns, write_remembered
from optimiser.files.ride_log.log_columns import Calibration, LogColumn, unit_spelled

LOGGERS: Final = Remembered(folder="loggers", what="logger", option="--logger")

Text = Annotated[str, Field(min_length=1, max_length=120)]
Pair = Annotated[list[float], Field(min_length=2, max_length=2)]


class LogColumnSection(FileModel):
    """One column of a logger."""

    header: Text
    """As the logger writes it."""
    corner: Annotated[str, Field(max_length=80)] = ""
    """Whose travel it is, as the bike file names corners; left out for time."""
    at: Literal["wheel", "shaft"] = "wheel"
    """Where that is measured."""
    unit: Annotated[str, Field(max_length=20)] = ""
    """Of time, of length, per cent of the travel, or of readings that are calibrated."""
    calibration: Annotated[list[Pair], Field(min_length=2, max_length=2)] | None = None
    """Two readings, each with its travel in mm."""

    def column(self, path: Path) -> LogColumn:
        """The column as a value."""
        unit = unit_spelled(self.unit, time=not self.corner) if self.unit else ""
        if unit is None:
            raise InputError(
                f"{path}: got the unit {self.unit!r} for {self.header!r}, expected one of its units."
            )
        calibration = None
        if self.calibration is not None:
            (first, one), (second, two) = self.calibration
            calibration = Calibration((first, second), (one * MILLIMETRE, two * MILLIMETRE))
        return LogColumn(self.header, self.corner, self.at, unit, calibration)


class LoggerFile(FileModel):
    """What the columns of a logger are."""

    name: Text
    """Of the logger."""
    column: Annotated[list[LogColumnSection], Field(min_length=1, max_length=60)]
    """Those that are read."""


def loggers_of(file: Path) -> Iterator[tuple[str, tuple[LogColumn, ...]]]:
    """Loggers that the shop of a log remembers, by name."""
    yield from map(_read, LOGGERS.files(file))


def logger_named(file: Path, name: str) -> tuple[LogColumn, ...]:
    """Columns of a logger of the shop.

    Raises
    ------
    InputError
        When the shop remembers none of that name.
    """
    return _read(LOGGERS.known(file, name, (one for one, _ in loggers_of(file))))[1]


def remember(file: Path, name: str, columns: Sequence[LogColumn]) -> Path:
    """Write what a logger's columns are into the shop's folder, in the place of what stood there.

    Raises
    ------
    InputError
        When the name will not do for a file, or the folder cannot be written.
    """
    path = LOGGERS.place(file, name)
    comment = "Columns of a logger, written by 'shimwright log --remember'."
    return write_remembered(path, remembered_columns(name, map(_row, columns), comment=comment))


def _row(column: LogColumn) -> dict[str, Any]:
    """What is written of one column."""
    row: dict[str, Any] = {}
    row["header"] = column.header
    if column.corner:
        row["corner"], row["at"] = column.corner, column.at
    if column.unit:
        row["unit"] = column.unit
    if (known := column.calibration) is not None:
        pairs = zip(known.readings, known.travels, strict=True)
        row["calibration"] = [[reading, round(travel / MILLIMETRE, 6)] for reading, travel in pairs]
    return row


def _read(path: Path) -> tuple[str, tuple[LogColumn, ...]]:
    logger = read_toml(path, LoggerFile, what="logger")
    return logger.name, tuple(section.column(path) for section in logger.column)
