"""One line of the shelf's CSV file, and what to say when a cell cannot be right."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from typing import Annotated, Any, Final

from pydantic import Field, ValidationError, field_validator, model_validator
from pydantic_core import ErrorDetails

from optimiser.files.base import FileModel
from optimiser.files.csv_cells import as_meant
from optimiser.files.micrometer import readings_from_text

LENGTHS: Final = {"outer_mm": (5.0, 60.0), "thickness_mm": (0.03, 1.0), "hole_mm": (3.0, 30.0)}
"""What shims are sold in. [mm]"""

MOST_COUNT: Final = 100_000
TEXTS: Final = {"drawer", "label", "read_mm"}

_LENGTH: Final = re.compile(r"[0-9]{1,12}(?:[.,][0-9]{1,20})?")
_WHOLE: Final = re.compile(r"([0-9]{1,12})(?:[.,]0{1,2})?")

Text = Annotated[str, Field(max_length=200)]


class ShelfLine(FileModel):
    """A shim type on the shelf, as the CSV file holds it."""

    outer_mm: Annotated[float, Field(ge=5, le=60)]
    """Outer diameter."""
    thickness_mm: Annotated[float, Field(ge=0.03, le=1.0)]
    hole_mm: Annotated[float, Field(ge=3, le=30)]
    """Diameter of the hole: the shaft's."""
    count: Annotated[int, Field(ge=0, le=MOST_COUNT)]
    """How many there are."""
    drawer: Text = ""
    """Where they lie, in the shop's own words."""
    label: Text = ""
    low_at: Annotated[int, Field(ge=0, le=MOST_COUNT)] | None = None
    """Mark the type as low at this count or under it."""
    read_mm: Text = ""
    """What single shims of it measured by a micrometer, as "0.103; 2 of 0.099": one reading a shim."""

    @field_validator("outer_mm", "thickness_mm", "hole_mm")
    @classmethod
    def _whole_micrometres(cls, value: float) -> float:
        if abs(value * 1000 - round(value * 1000)) > 1e-6:
            raise ValueError(f"a length in whole micrometres; did you mean {round(value, 3):g}?")
        return value

    @field_validator("drawer", "label")
    @classmethod
    def _one_line(cls, value: str) -> str:
        if any(unicodedata.category(letter) in {"Cc", "Cs", "Zl", "Zp"} for letter in value):
            raise ValueError("printable text on one line; look for a quote that is not closed.")
        return value

    @model_validator(mode="after")
    def _hole_inside_rim(self) -> ShelfLine:
        if self.hole_mm >= self.outer_mm:
            raise ValueError(
                f"hole_mm smaller than outer_mm, got {self.hole_mm:g} and {self.outer_mm:g}; "
                "are the two columns swapped?"
            )
        if len(self.readings) > self.count:
            raise ValueError(
                f"at most as many readings in read_mm as shims, got {len(self.readings)} for {self.count}; "
                "give each shim one reading"
            )
        return self

    @property
    def readings(self) -> tuple[int, ...]:
        """One entry a shim, rising. [um]"""
        try:
            return readings_from_text(self.read_mm, nominal=round(self.thickness_mm * 1000))
        except ValueError as error:
            raise ValueError(f"in read_mm {error}") from None


def faults_of(cells: Mapping[str, str], *, where: str) -> ShelfLine | list[str]:
    """Read the cells of one line; either the line, or one message a fault.

    Parameters
    ----------
    cells : text by column; a decimal comma counts as a decimal point, an empty optional cell as left out.
    where : file and line, as ``shelf.csv:7``, for messages.
    """
    values: dict[str, Any] = {}
    faults: list[str] = []
    for column in ShelfLine.model_fields:
        text = cells.get(column, "")
        try:
            if column in LENGTHS:
                values[column] = _length(text)
            elif column in TEXTS:
                values[column] = as_meant(text)
            elif column == "count" or text:
                values[column] = _whole(text)
        except ValueError as error:
            faults.append(f"{where}: {column}: got {text[:40]!r}; expected {error}.")
    if faults:
        return faults
    try:
        return ShelfLine.model_validate(values)
    except ValidationError as error:
        return [_explained(fault, cells, where) for fault in error.errors()]


def _length(text: str) -> float:
    if not _LENGTH.fullmatch(text):
        raise ValueError("a number in mm such as 0.15" + ("; fill in the cell" if not text else ""))
    return float(text.replace(",", "."))


def _whole(text: str) -> int:
    match = _WHOLE.fullmatch(text)
    if match is None:
        hint = "; a count is never negative" if re.match(r"[-\u2212]\s*[0-9]", text) else ""
        hint = "; write 0 when there is none" if not text else hint
        raise ValueError(f"a whole number of shims such as 4{hint}")
    return int(match[1])


def _explained(fault: ErrorDetails, cells: Mapping[str, str], where: str) -> str:
    expected = fault["msg"].removeprefix("Value error, ")
    if not fault["loc"]:
        return f"{where}: expected {expected}"
    column = str(fault["loc"][0])
    got = cells.get(column, "")
    if fault["type"] == "value_error":
        return f"{where}: {column}: got {got[:40]!r}; expected {expected}"
    if column in LENGTHS:
        least, most = LENGTHS[column]
        value = _length(got)
        near = [value / scale for scale in (100, 1000, 0.001) if least <= value / scale <= most]
        hint = f" Did you mean {near[0]:g}?" if near else ""
        return f"{where}: {column}: got {got[:40]}; expected {least:g} to {most:g} mm.{hint}"
    if column in TEXTS:
        return f"{where}: {column}: got {len(got)} characters; expected at most 200. Shorten the text."
    return f"{where}: {column}: got {got[:40]}; expected 0 to {MOST_COUNT}. Check the number."
