"""Figures as people write them, with the unit that stands on the gauge, the scale or the calipers.

``10.5 mm``, ``3/8 in``, ``180 psi``, ``12,4 bar``, ``150 lb``, ``55 lb/in``: one table of units, one reader.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from damping_model.units import FORCE_UNITS, LENGTH_UNITS, MASS_UNITS, PRESSURE_UNITS, STIFFNESS_UNITS
from optimiser.errors import InputError


@dataclass(frozen=True, slots=True)
class Quantity:
    """Something that is measured, and the units that people write it in.

    Parameters
    ----------
    name : what it is, in a word with its article.
    unit : in which files and answers keep it.
    units : every way to write a unit, with its size. [SI]
    example : how somebody may write one.
    bare : whether a number without a unit is taken to be in ``unit``; nothing at all needs none.
    """

    name: str
    unit: str
    units: Mapping[str, float]
    example: str
    bare: bool = True


LENGTH: Final = Quantity("a length", "mm", LENGTH_UNITS, "10.5 mm or 3/8 in")
MASS: Final = Quantity("a weight", "kg", MASS_UNITS, "74 kg or 163 lb")
PRESSURE: Final = Quantity("a pressure", "bar", PRESSURE_UNITS, "12.5 bar or 180 psi", bare=False)
FORCE: Final = Quantity("a force", "N", FORCE_UNITS, "120 N or 27 lbf")
RATE: Final = Quantity("a spring rate", "N/mm", STIFFNESS_UNITS, "9.6 N/mm or 55 lb/in", bare=False)

_NUMBER: Final = r"(?:\d+\s+)?\d+\s*/\s*\d+|\d+(?:[.,]\d+)?|[.,]\d+"
_FIGURE: Final = re.compile(rf"\s*(?P<number>-?(?:{_NUMBER}))\s*(?P<unit>[^\d\s].*?)?\s*")


def read(text: str, quantity: Quantity) -> float:
    """A figure in the unit that files keep it in.

    Parameters
    ----------
    text : as somebody wrote it; a comma will do for a point, an inch may be a fraction.
    quantity : what is measured.

    Raises
    ------
    InputError
        When it is no number, its unit is missing or is not one of the quantity's.

    Examples
    --------
    >>> read("1 1/2 in", LENGTH)
    38.1
    >>> round(read("180 psi", PRESSURE), 2)
    12.41
    """
    match = _FIGURE.fullmatch(text)
    if match is None:
        raise InputError(f"got {text!r}, expected {quantity.name} like {quantity.example}.")
    unit = re.sub(r"\s", "", (match["unit"] or "").lower()).rstrip(".")
    value = _number(match["number"])
    if not unit:
        if not quantity.bare and value != 0:
            raise InputError(
                f"got {text!r} without its unit, expected {quantity.name} like {quantity.example}."
            )
        return value
    if unit not in quantity.units:
        raise InputError(
            f"got {text!r}, expected {quantity.name} in {quantity.unit} or another unit for it, "
            f"like {quantity.example}."
        )
    return float(f"{value * quantity.units[unit] / quantity.units[quantity.unit.lower()]:.6g}")


def read_all(text: str, quantity: Quantity, *, count: int) -> tuple[float, ...]:
    """Several figures in one answer, as ``10 to 15 mm``; a unit at the end counts for all that have none.

    Raises
    ------
    InputError
        When there are not as many as expected, or one cannot be read.
    """
    parts = [
        part for part in re.split(r"\s+(?:to|and|x)\s+|\s*;\s*|,\s+|\s+-\s+", text.strip().lower()) if part
    ]
    if len(parts) == 1 and re.fullmatch(r"[\d.,\s]+", text):
        parts = text.split()
    if len(parts) != count:
        raise InputError(
            f"got {text!r}, expected {count} figures, each {quantity.name} like {quantity.example}."
        )
    last = _FIGURE.fullmatch(parts[-1])
    unit = (last["unit"] or "") if last else ""
    return tuple(
        read(part if (one := _FIGURE.fullmatch(part)) is None or one["unit"] else f"{part} {unit}", quantity)
        for part in parts
    )


def _number(text: str) -> float:
    """A number, a fraction or a mixed one: ``10,5``, ``3/8``, ``1 1/2``; at most one of each."""
    try:
        whole, _, fraction = re.sub(r"\s*/\s*", "/", text.strip().replace(",", ".")).rpartition(" ")
        above, _, below = fraction.partition("/")
        value = float(whole or 0) + float(above) / float(below or 1)
    except (ValueError, ZeroDivisionError):
        raise InputError(f"got {text!r}, expected a number.") from None
    if not math.isfinite(value):
        raise InputError(f"got a number of {len(text)} digits, expected a short one.")
    if not math.isfinite(value):
        raise InputError(f"got {text!r}, expected a number that is finite.")
    return value
