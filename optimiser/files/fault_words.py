"""A fault that pydantic found in a file, in a tuner's words: the place, what was expected, what to write."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from typing import Any, Final

from pydantic_core import ErrorDetails

from damping_model.units import BAR, POUND_PER_SQUARE_INCH
from optimiser.errors import InputError
from optimiser.intake.quantities import FORCE, LENGTH, MASS, PRESSURE, RATE, read

EXPECTED: Final[Mapping[str, str]] = {
    "float_parsing": "a number without quotes",
    "float_type": "a number",
    "int_parsing": "a whole number without quotes",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "bool_parsing": "true or false, without quotes",
    "bool_type": "true or false",
    "string_type": "text in quotes",
    "dict_type": "a table, as in { key = value }",
    "model_type": "a table, as in { key = value }",
    "list_type": "a list in brackets, as in [1, 2]",
    "tuple_type": "a list in brackets, as in [1, 2]",
}
"""Kinds of fault that pydantic would tell in the words of a programmer."""

MEASURED_IN: Final = {"_n_mm": RATE, "_mm": LENGTH, "_kg": MASS, "_bar": PRESSURE, "_n": FORCE}
"""What a key measures, by how it ends."""

ALONE: Final = "write the number alone, in the unit that '{}' ends with"

NUMBER_IN_TEXT: Final = re.compile(r"\s*(-?\d+)(?:[.,](\d+))?\s*([^\W\d].{0,10}|%)?\s*")
"""A number that was typed with a comma or a unit."""


def number_to_write(text: str, *, key: str) -> str | None:
    """What to write in place of a number with a comma or a unit; None where the text is no such number.

    A number in another unit than the key's is converted, and where that cannot be done never called the one
    to write.

    >>> number_to_write("7,5 mm", key="room_mm")
    'write 7.5'
    >>> number_to_write("145 psi", key="gas_pressure_bar")
    'write 9.997'
    >>> number_to_write("3 ft", key="room_mm")
    "write the number alone, in the unit that 'room_mm' ends with"

    Parameters
    ----------
    text : as it was typed.
    key : that it stands behind.
    """
    found = NUMBER_IN_TEXT.fullmatch(text)
    if found is None:
        return None
    whole, decimals, unit = found.groups()
    if unit is not None and not key.lower().endswith("_" + unit.strip().lower().replace("/", "_")):
        quantity = next((one for end, one in MEASURED_IN.items() if key.lower().endswith(end)), None)
        with suppress(InputError):
            return f"write {read(text, quantity):.4g}" if quantity else ALONE.format(key)
        return ALONE.format(key)
    return f"write {'.'.join(filter(None, (whole, decimals)))}"


def place_in_words(place: Sequence[int | str], data: object) -> str:
    """Where a fault is: a table of a list by its name, or counted from 1.

    >>> place_in_words(("valve", 0, "room"), {"valve": [{"name": "base", "room": 3}]})
    "valve 'base'.room"

    Parameters
    ----------
    place : keys and places in lists, from the outside inwards.
    data : the tables of the file.
    """
    words: list[str] = []
    for part in place:
        data = _inside(data, part)
        if isinstance(part, str):
            words.append(part)
            continue
        name = data.get("name") if isinstance(data, dict) else None
        shown = repr(name) if isinstance(name, str) and name.strip() else str(part + 1)
        words[-1:] = [f"{words[-1]} {shown}" if words else shown]
    return ".".join(words)


def expectation(fault: ErrorDetails) -> str:
    """What was expected, as the end of a sentence; with what to write, where that can be told."""
    known = EXPECTED.get(fault["type"])
    given, keys = fault["input"], [part for part in fault["loc"] if isinstance(part, str)]
    if known is None:
        message = fault["msg"].removeprefix("Value error, ").removeprefix("Input should be ")
        if fault["type"] == "less_than_equal" and keys:
            message += _other_unit(given, keys[-1], most=fault["ctx"]["le"])
        return message + ("" if message.endswith((".", "?")) else ".")
    way = (
        number_to_write(given, key=keys[-1])
        if isinstance(given, str) and keys and "number" in known
        else None
    )
    return f"{known}." if way is None else f"{known}; {way}."


def _other_unit(given: str | float, key: str, *, most: float) -> str:
    """What to write where a number that is too large would do in a neighbouring unit; else nothing.

    Parameters
    ----------
    given : the number, in quotes or not.
    key : that it was given for.
    most : largest that may be.
    """
    try:
        figure = float(given)
    except OverflowError:
        return ""
    for end, unit, size in (("_bar", "psi", POUND_PER_SQUARE_INCH / BAR), ("_share", "percent", 0.01)):
        if key.endswith(end) and figure * size <= most:
            return f"; if it is {unit}, write {figure * size:.4g}"
    return ""


def _inside(data: Any, part: int | str) -> object:
    try:
        return data[part]
    except (KeyError, IndexError, TypeError):
        return None
