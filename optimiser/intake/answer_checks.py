"""What counts as an answer: each check gives it as it is kept, or says what was expected."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import Final

from optimiser.errors import InputError
from optimiser.intake.quantities import LENGTH, PRESSURE, read

MOST_TYRE: Final = 8.0
"""A figure without a unit beyond it was meant as psi. [bar]"""

LONGEST_ANSWER: Final = 2000
"""More than anybody types as one answer. [characters]"""


def number(least: float, most: float, *, zero: bool = True) -> Callable[[str], str]:
    """Check for a number in a range; a comma will do for a point."""

    def check(text: str) -> str:
        try:
            value = float(re.sub(r"(?<=\d),(?=\d)", ".", text.strip().rstrip("%").strip()))
        except ValueError:
            raise InputError(f"got {text!r}, expected a number like {max(least, 1.5):g}.") from None
        if not (math.isfinite(value) and least <= value <= most) or (value == 0 and not zero):
            other = "" if zero else ", other than 0"
            raise InputError(f"got {text!r}, expected {least:g} to {most:g}{other}.")
        return f"{value:g}"

    return check


def whole(least: int, most: int) -> Callable[[str], str]:
    """Check for a whole number in a range."""

    def check(text: str) -> str:
        if not text.strip().isdecimal() or not least <= int(text) <= most:
            raise InputError(f"got {text!r}, expected a whole number from {least} to {most}.")
        return str(int(text))

    return check


def one_of(names: tuple[str, ...]) -> Callable[[str], str]:
    """Check for one of a few names, or its number in the list."""

    def check(text: str) -> str:
        name = chosen(text, names)
        fitting = [known for known in names if known.lower().startswith(name.lower())]
        if len(fitting) != 1 and name not in names:
            raise InputError(f"got {text!r}, expected one of {', '.join(names)}.")
        return name if name in names else fitting[0]

    return check


def yes_or_no(text: str) -> str:
    """Check for a yes or a no."""
    word = text.strip().lower()
    if word not in {"y", "yes", "n", "no"}:
        raise InputError(f"got {text!r}, expected yes or no.")
    return "yes" if word.startswith("y") else "no"


def yes(text: str) -> str:
    """Check for a yes, where a no means another answer before."""
    if yes_or_no(text) == "no":
        raise InputError(f"got {text!r}, expected yes. Else type 'back' and answer the one before anew.")
    return "yes"


def sag(text: str) -> str:
    """Check for a sag: a number with mm (and 'shaft' when measured there) or percent."""
    match = re.fullmatch(r"(.+?)\s*(mm|in|inch|inches|\"|%|percent)\s*(shaft|wheel)?", text.strip().lower())
    share = match is not None and match[2] in {"%", "percent"}
    if match is None or (share and match[3]):
        raise InputError(f"got {text!r}, expected a sag with its unit, like 38 mm, 27 %, or 15 mm shaft.")
    said = match[1] if share else f"{read(f'{match[1]} {match[2]}', LENGTH):g}"
    value = number(0.1, 99 if share else 1000)(said)
    return f"{value} {'%' if share else 'mm'}" + (" shaft" if match[3] == "shaft" else "")


def tyre_pressure(text: str) -> str:
    """Check for a tyre's pressure: in bar, unless the unit is there; psi is kept as bar."""
    plain = re.fullmatch(r"\s*-?[\d.,]+\s*|\s*nan\s*", text)
    value = float(number(0, 60)(text)) if plain else read(text, PRESSURE)
    if plain and value > MOST_TYRE:
        raise InputError(
            f"got {text!r}, expected a tyre's pressure in bar. Is it psi? Then write {text.strip()} psi."
        )
    return number(0, 60)(f"{value:.3g}")


def band(text: str) -> str:
    """Check for two velocities, the lower first."""
    parts = re.split(r"\s*(?:to|\.\.|-)\s*", text.strip().lower().removesuffix("m/s").strip())
    if len(parts) != 2:
        raise InputError(f"got {text!r}, expected two shaft velocities in m/s, like 0.06 to 0.20.")
    low, high = (number(0.001, 20)(part) for part in parts)
    if float(low) >= float(high):
        raise InputError(f"got {text!r}, expected the lower velocity first. Swap them.")
    return f"{low} to {high}"


def chosen(text: str, names: tuple[str, ...]) -> str:
    """The name that a number in a list stands for; other text as it is."""
    word = text.strip()
    if word.isdecimal() and 1 <= int(word) <= len(names):
        return names[int(word) - 1]
    return word


def words(text: str) -> str:
    """Check for free text on one line."""
    said = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    if not said or len(said) > 1000:
        raise InputError(
            "got no words, expected some." if not said else "got over 1000 letters, expected fewer."
        )
    return said
