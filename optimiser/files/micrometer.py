"""Micrometer readings as people write them beside a shim type, and as files keep them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from typing import Final

MOST_OFF: Final = 0.25
"""A reading further off the nominal thickness than this share is a slip, or another type. [-]"""

MOST_READINGS: Final = 1000

_ONE: Final = re.compile(r"(?:([0-9]{1,4})\s*(?:of|x)\s*)?([0-9][.,][0-9]{1,4})")


def readings_from_text(text: str, *, nominal: int) -> tuple[int, ...]:
    """One entry a shim, rising. [um]

    Parameters
    ----------
    text : readings in mm, each with how many shims have it where there are several, parted by blanks or
        semicolons: ``0.103; 2 of 0.099``.
    nominal : thickness of the type. [um]

    Raises
    ------
    ValueError
        Saying what was expected; for whoever names file and line.
    """
    found: list[int] = []
    rest = text.strip()
    while rest:
        match = _ONE.match(rest)
        if match is None:
            raise ValueError(f"readings in mm such as '0.103; 2 of 0.099', got {rest[:40]!r}")
        reading = round(float(match[2].replace(",", ".")) * 1000)
        if abs(reading - nominal) > MOST_OFF * nominal:
            raise ValueError(
                f"readings within {100 * MOST_OFF:g} % of the {nominal / 1000:g} mm of the type, got "
                f"{match[2]}; is it one of another drawer?"
            )
        found += [reading] * int(match[1] or 1)
        if len(found) > MOST_READINGS:
            raise ValueError(f"at most {MOST_READINGS} readings")
        after = rest[match.end() :]
        rest = after.lstrip(" ;\t")
        if rest and rest == after:
            raise ValueError(f"readings parted by a semicolon or a blank, got {text[:40]!r}")
    return tuple(sorted(found))


def readings_text(readings: Iterable[int]) -> str:
    """The same as text, as files keep it."""
    counted = sorted(Counter(readings).items())
    return "; ".join(
        f"{count} of {reading / 1000:.3f}" if count > 1 else f"{reading / 1000:.3f}"
        for reading, count in counted
    )


def measured_words(readings: tuple[int, ...], *, noted: int) -> str:
    """How many shims of a type were read, and between what they lie; or that nobody knows which are left.

    Parameters
    ----------
    readings : of free shims, rising. [um]
    noted : how many were read.
    """
    if noted and not readings:
        return f"measure again: {noted} were read, fewer are free"
    if not readings:
        return ""
    least, most = f"{readings[0] / 1000:.3f}", f"{readings[-1] / 1000:.3f}"
    return f"{len(readings)} at {least}" if least == most else f"{len(readings)}, {least} to {most}"
