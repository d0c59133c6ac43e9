"""What stands in the header of a column: words, and what may be its unit."""

from __future__ import annotations

import re
from collections.abc import Container
from dataclasses import dataclass
from typing import Final

_WORD: Final = re.compile(r"[a-z]+")
_IN_BRACKETS: Final = re.compile(r"[(\[{<]([^)\]}>]*)[)\]}>]")


@dataclass(frozen=True, slots=True)
class HeaderWords:
    """A header taken apart.

    Parameters
    ----------
    words : outside brackets, in small letters.
    may_be_units : texts that may be its unit: in brackets first, then its last words.
    """

    words: tuple[str, ...]
    may_be_units: tuple[str, ...]


def words_of(header: str) -> HeaderWords:
    """Take a header apart.

    Examples
    --------
    >>> words_of("Peak Velocity (mm/s)")
    HeaderWords(words=('peak', 'velocity'), may_be_units=('mm/s', 'Peak/Velocity', 'Velocity'))
    """
    bracketed = [unit for unit in _IN_BRACKETS.findall(header) if unit.strip()]
    bare = _IN_BRACKETS.sub(" ", header)
    return HeaderWords(tuple(_WORD.findall(bare.lower())), (*bracketed, *_endings(bare)))


def _endings(bare: str) -> list[str]:
    """Ends of a header that may be its unit: ``force_lbf``, ``velocity mm_s``, ``time, ms``."""
    parts = [part for part in re.split(r"[\s,_:-]+", bare.strip()) if part]
    return ["/".join(parts[-2:]), parts[-1]] if len(parts) > 1 else []


def unit_among(text: str, units: Container[str]) -> str | None:
    """The unit that a text spells, of those that there are; None when it is none of them.

    Examples
    --------
    >>> unit_among("mm per sec", {"m/s", "mm/s"})
    'mm/s'
    """
    word = re.sub(r"[\s.°]", "", text.lower()).replace("sec", "s").replace("deg", "")
    spellings = (
        word,
        word.replace("per", "/"),
        word.replace("_", "/"),
        re.sub(r"([a-z])s-?1$", r"\1/s", word),
    )
    return next((spelled for spelled in spellings if spelled in units), None)


def plain_header(header: str) -> str:
    """A header without regard to capitals and blanks, as columns are told by."""
    return " ".join(header.lower().split())
