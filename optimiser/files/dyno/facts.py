"""What a file says of its runs in lines like ``key: value``: clicks, temperature, gas pressure, stroke."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Final

from damping_model.units import BAR, MILLIMETRE
from optimiser.dyno.given import RunFacts
from optimiser.errors import InputError
from optimiser.files.base import clipped
from optimiser.files.dyno.columns import TEMPERATURES, ColumnRole, unit_of
from optimiser.intake.quantities import LENGTH, PRESSURE, read

MOST_CLICKS: Final = 200
"""More than any adjuster has."""

CLICK_WORDS: Final = frozenset({"click", "clicks", "clicker", "clickers"})

_KEY: Final = re.compile(r"\s*(?P<key>[^\W\d][\w ./()°-]{0,60}?)\s*[:=]\s*(?P<value>.+?)\s*")
_CLICKS: Final = re.compile(
    r"(?P<name>[a-zA-Z][a-zA-Z -]*?)?\s*[=:]?\s*(?P<count>\d{1,4})(?:\s*(?:clicks?)?\s*(?:out)?)?"
)
_NUMBER: Final = re.compile(r"(?P<number>[+-]?\d+(?:[.,]\d+)?)\s*(?P<unit>.*)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts(RunFacts):
    """What stands in front of a run, or a person says of it.

    Parameters
    ----------
    name : of the run; None where nothing tells it.
    """

    name: str | None = None


NO_FACTS: Final = Facts()


def key_and_value(words: str) -> tuple[str, str] | None:
    """The two halves of ``key: value`` or ``key = value``; None for other words."""
    match = _KEY.fullmatch(words)
    return None if match is None else (match["key"], match["value"])


def with_fact(facts: Facts, key: str, value: str, *, place: str) -> Facts:
    """Facts with one more; a key that means nothing here leaves them as they are.

    Parameters
    ----------
    facts : so far.
    key, value : as the file has them; the unit may stand with either.
    place : file and line, for messages.

    Raises
    ------
    InputError
        When the value of a key that counts is no figure.
    """
    unit = re.search(r"[(\[]([^)\]]*)[)\]]", key)
    if unit and re.fullmatch(r"[+-]?[\d.,]+", value):
        value = f"{value} {unit[1]}"
    words = re.sub(r"[(\[][^)\]]*[)\]]", " ", key).lower().replace("_", " ").split()
    try:
        return _known(facts, words, value)
    except InputError as error:
        raise InputError(f"{place}: {' '.join(words)}: {error}") from None


def _known(facts: Facts, words: list[str], value: str) -> Facts:
    told = set(words)
    if told & CLICK_WORDS or re.search(r"\d\s*clicks?\b", value):
        name = " ".join(word for word in words if word not in CLICK_WORDS | {"out"})
        return replace(facts, clicks={**facts.clicks, **clicks_of(value, name=name)})
    if told & {"temperature", "temp"}:
        scale = next((word for word in words if word in TEMPERATURES), "")
        kelvin = temperature_of(value, scale=scale)
        return _without(facts, "temperature", value, "40 C") if kelvin is None else _at(facts, kelvin)
    if told & {"gas", "pressure"} and "force" not in told:
        return replace(facts, gas_pressure=BAR * read(value, PRESSURE))
    if "stroke" in told:
        if re.fullmatch(r"[\d.,]+", value):
            return _without(facts, "stroke", value, "40 mm")
        return replace(facts, stroke=MILLIMETRE * read(value, LENGTH))
    if told & {"sample", "sampling", "samples"} and (match := _NUMBER.fullmatch(value)):
        return replace(facts, claimed_rate=float(match["number"].replace(",", ".")))
    named = words in (["run"], ["name"], ["test"], ["run", "name"], ["test", "name"])
    return replace(facts, name=value[:60]) if named else facts


def _at(facts: Facts, kelvin: float) -> Facts:
    return replace(facts, temperature=kelvin)


def _without(facts: Facts, what: str, value: str, example: str) -> Facts:
    """Facts with a word on one that could not be used."""
    said = f"The {what} {clipped(repr(value))} has no unit and is left out; write it as '{example}'."
    return replace(facts, notes=(*facts.notes, said))


def temperature_of(value: str, *, scale: str = "") -> float | None:
    """A temperature with its scale; None where it has none. [K]

    Raises
    ------
    InputError
        When it is no figure, or no damper is so hot or cold.
    """
    match = _NUMBER.fullmatch(value.strip())
    if match is None:
        raise InputError(f"got {clipped(repr(value))}, expected a temperature like 40 C or 104 F.")
    unit = unit_of(match["unit"], ColumnRole.TEMPERATURE) if match["unit"] else scale
    if unit is None:
        raise InputError(f"got {clipped(repr(value))}, expected a temperature in C, F or K.")
    if not unit:
        return None
    degree, zero = TEMPERATURES[unit]
    kelvin = degree * float(match["number"].replace(",", ".")) + zero
    refuse_heat(kelvin)
    return kelvin


def refuse_heat(kelvin: float) -> None:
    """Refuse a temperature that no oil is at.

    Raises
    ------
    InputError
        Outside -40 to 200 °C.
    """
    if not 233.0 <= kelvin <= 473.0:
        raise InputError(f"got {kelvin - 273.15:.4g} °C, expected -40 to 200. Check the scale: C, F or K.")


def clicks_of(value: str, *, name: str = "") -> dict[str, int]:
    """Clicks out by adjuster, from ``7``, ``7 out`` or ``rebound 7, compression 4``.

    Raises
    ------
    InputError
        When it is no such thing, or nobody says whose clicks they are.

    Examples
    --------
    >>> clicks_of("rebound 7, compression 4")
    {'rebound': 7, 'compression': 4}
    >>> clicks_of("7 out", name="rebound")
    {'rebound': 7}
    """
    found = {}
    for part in re.split(r"\s*[,;]\s*", value.strip()):
        match = _CLICKS.fullmatch(part)
        own = " ".join(((match["name"] if match else None) or name).lower().split())
        if match is None or not own or int(match["count"]) > MOST_CLICKS:
            raise InputError(
                f"got {clipped(repr(value))}, expected clicks out with their adjuster, as 'rebound clicks: "
                "7'."
            )
        found[own] = int(match["count"])
    return found
