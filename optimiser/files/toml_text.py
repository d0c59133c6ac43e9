"""TOML from a person or a stranger, as tables: refused where it is too deep or too much to be meant."""

from __future__ import annotations

import re
import tomllib
from typing import Any, Final

from optimiser.errors import InputError
from optimiser.files.fault_words import number_to_write

MOST_KEYS: Final = 4000
"""Keys in one file; a symptom table of a shop has a few hundred."""

DEEPEST: Final = 12
"""Tables and lists inside one another; a damper has five."""

MOST_BITS: Final = 400
"""Of a whole number, some 120 digits: more than any computer's fraction holds."""

AT_LINE: Final = re.compile(r"at line (\d+)")
"""Where Python says that a text stopped being TOML."""


def tables_of(text: str, *, name: str, way_out: str = "Mend that place") -> dict[str, Any]:
    """The tables that a TOML text holds.

    Parameters
    ----------
    text : of the file.
    name : of the file, for messages.
    way_out : what to do with a text that is no TOML.

    Raises
    ------
    InputError
        When it is not TOML, or is deeper, longer or wider than any file of a shop.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(
            _number_with_more(text, error, name)
            or f"{name}: not TOML: {error}. {way_out}; strings need quotes, tables [brackets]."
        ) from None
    except RecursionError:
        raise InputError(_too_deep(name)) from None
    except ValueError:
        # Python refuses to read a number of thousands of digits, and says so with an error of its own.
        raise InputError(f"{name}: got a number of thousands of digits, expected a short one.") from None
    _refuse_too_much(data, name)
    return data


def _number_with_more(text: str, error: tomllib.TOMLDecodeError, name: str) -> str | None:
    """The refusal of a number with a decimal comma or a unit, the slips that hurry makes most."""
    place = AT_LINE.search(str(error))
    lines = text.splitlines()
    if place is None or int(place[1]) > len(lines):
        return None
    key, equals, value = lines[int(place[1]) - 1].partition("#")[0].partition("=")
    way = number_to_write(value, key=key.strip()) if equals else None
    if way is None:
        return None
    return (
        f"{name}:{place[1]}: {key.strip()}: got {value.strip()}; expected a number with a point, "
        f"without a unit; {way}."
    )


def _refuse_too_much(data: dict[str, Any], name: str) -> None:
    keys = 0
    level: list[Any] = [data]
    for _ in range(DEEPEST):
        inner: list[Any] = []
        for table in level:
            if isinstance(table, dict):
                keys += len(table)
                inner.extend(table.values())
            else:
                inner.extend(table)
        level = [value for value in inner if isinstance(value, (dict, list))]
    if level:
        raise InputError(_too_deep(name))
    if keys > MOST_KEYS:
        raise InputError(
            f"{name}: got {keys} keys, expected at most {MOST_KEYS}. Check that this is the right file."
        )


def _too_deep(name: str) -> str:
    return (
        f"{name}: got tables or lists more than {DEEPEST} deep, expected a few. "
        "Check that this is the right file."
    )
