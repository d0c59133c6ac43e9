"""Words and numbers of one entry of a stack: ``6 of 20x0.10``, ``20 × 0,1 (6)``, ``OD 20 t 0.1 qty 6``."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import Final

COUNT, OUTER, THICKNESS, HOLE = "count", "diameter", "thickness", "hole"
"""What a number of an entry may be."""

_SAME: Final = str.maketrans(
    {
        **dict.fromkeys("×✕✖⨯хХX", "x"),  # the sign, and the Cyrillic letter that looks like it
        **dict.fromkeys("−–—‐‑", "-"),
        **dict.fromkeys("“”„″", '"'),
        **dict.fromkeys("Øø⌀φ", "ø"),
        **dict.fromkeys("\u00a0\u2007\u2009\u202f", " "),
        "，": ",",
        "；": ";",
    }
)
"""Signs that people and keyboards take for one another."""

_BEFORE: Final = dict.fromkeys(("of", "off", "pc", "pcs", "piece", "pieces", "ea", "each", "times"), COUNT)
"""Words that say what the number in front of them is."""

_BESIDE: Final = {
    **dict.fromkeys(("qty", "quantity", "count"), COUNT),
    **dict.fromkeys(("od", "dia", "diameter", "outer", "ø"), OUTER),
    **dict.fromkeys(("t", "thk", "thick", "thickness"), THICKNESS),
    **dict.fromkeys(("hole", "id", "bore", "inner"), HOLE),
}
"""Words that say what the number after them is, or the number before them where they close the entry."""

_PASSED_OVER: Final = frozenset(
    ("shim", "shims", "face", "clamp", "crossover", "taper", "stage", "spacer", "spacers", "mm")
)
_RING: Final = frozenset(("ring", "rings"))
_UNITS: Final = {"inch": "in", "inches": "in", '"': "in", "''": "in"}

_TOKEN: Final = re.compile(
    r"(?P<number>(?:(?<![\w.,)\"])[-+])?(?:[0-9]+[.,][0-9]+|[0-9]+|[.,][0-9]+))(?![0-9.,]*[0-9])"
    r"(?:\s*(?P<unit>mm\b|inch(?:es)?\b|in\b|thou\b|\"|''))?"
    r"|(?P<join>by\b|x(?![a-wyz])|[*/:=@-])|(?P<word>ø|[^\W\d_]+)\.?|(?P<open>[(\[{])|(?P<close>[)\]}])"
)


@dataclass(frozen=True, slots=True)
class Number:
    """One number of an entry.

    Parameters
    ----------
    text : as it stands, with a decimal point.
    unit : ``"mm"``, ``"in"``, ``"thou"``, or nothing where none is written.
    role : what a word or a bracket says that it is; None where only its place tells.
    joined : the sign between the number before it and this one; a space for none.
    apart : how many spaces stand around that sign.
    """

    text: str
    unit: str = ""
    role: str | None = None
    joined: str = " "
    apart: int = 0


@dataclass(frozen=True, slots=True)
class Words:
    """An entry taken apart.

    Parameters
    ----------
    numbers : in order.
    ring : whether it is called a ring.
    """

    numbers: tuple[Number, ...]
    ring: bool


def plain(text: str) -> str:
    """Text with the signs that are taken for one another made one, in small letters."""
    return text.translate(_SAME).lower()


def words_of(entry: str) -> Words | None:
    """The numbers of an entry with what its words say of them; None where it holds something else.

    Parameters
    ----------
    entry : one entry, as :func:`plain` leaves it.
    """
    tokens = _tokens(entry)
    if tokens is None:
        return None
    reader = _Reader()
    return Words(tuple(reader.numbers), reader.ring) if reader.reads(entry, tokens) else None


@dataclass(frozen=True, slots=True)
class _Label:
    """A word that says what a number beside it is.

    Parameters
    ----------
    at : how many numbers stand before it.
    role : what it says.
    joined : whether a sign joins it to the number before it, so that the number after it is meant.
    closes : whether the entry ends with it.
    """

    at: int
    role: str
    joined: bool
    closes: bool


@dataclass(slots=True)
class _Reader:
    """What was read of an entry so far.

    Parameters
    ----------
    numbers, labels, ring : what was found.
    join : the sign since the last number; nothing for none.
    apart : spaces since the last number.
    inside : numbers before the bracket that is open; None when none is.
    """

    numbers: list[Number] = field(default_factory=list)
    labels: list[_Label] = field(default_factory=list)
    ring: bool = False
    join: str = ""
    apart: int = 0
    inside: int | None = None

    def reads(self, entry: str, tokens: list[re.Match[str]]) -> bool:
        """Read all of an entry; False where it makes no sense."""
        end = 0
        for token in tokens:
            self.apart += token.start() - end
            end = token.end()
            if not self._takes(token, closes=not entry[end:].strip()):
                return False
        if self.inside is not None or not self.numbers or not _labelled(self.numbers, self.labels):
            return False
        if self.join and not (self.join in {"x", "*"} and self._counted()):  # '20x0.10 6x' is a count
            return False
        if self.numbers[0].joined in {"x", "*"}:  # 'x6 20x0.10'
            self.numbers[0] = replace(self.numbers[0], role=self.numbers[0].role or COUNT)
        return True

    def _takes(self, token: re.Match[str], *, closes: bool) -> bool:
        if token["number"] is not None:
            text, unit = token["number"].replace(",", "."), _UNITS.get(token["unit"], token["unit"] or "")
            self.numbers.append(Number(text, unit, None, self.join or " ", self.apart))
            self.join, self.apart = "", 0
        elif token["join"] is not None:
            return self._takes_join(token["join"])
        elif token["word"] is not None:
            return self._takes_word(token["word"], closes=closes)
        elif token["open"] is not None:
            self.inside, self.apart = len(self.numbers), self.apart + 1
        else:
            return self._closed()
        return True

    def _takes_join(self, sign: str) -> bool:
        if self.join or (sign == "@" and not self._counted()):
            return False
        self.join = "x" if sign == "by" else "" if sign == "@" else sign
        return True

    def _takes_word(self, word: str, *, closes: bool) -> bool:
        if word in _BEFORE:
            return self._counted()
        if word in _BESIDE:
            joined = bool(self.join)
            self.labels.append(_Label(len(self.numbers), _BESIDE[word], joined=joined, closes=closes))
        elif word in _RING:
            self.ring = True
        return word in _BESIDE or word in _RING or word in _PASSED_OVER

    def _closed(self) -> bool:
        """Close a bracket: a number alone in it is a count, unless a word says otherwise."""
        inside, self.inside = self.inside, None
        if inside is None:
            return False
        if len(self.numbers) == inside + 1 and not any(one.at >= inside for one in self.labels):
            self.numbers[inside] = replace(self.numbers[inside], role=self.numbers[inside].role or COUNT)
        self.join, self.apart = "", self.apart + 1
        return True

    def _counted(self) -> bool:
        """Take the last number for a count; False where there is none or it is something already."""
        if not self.numbers or self.numbers[-1].role is not None:
            return False
        self.numbers[-1] = replace(self.numbers[-1], role=COUNT)
        return True


def _tokens(entry: str) -> list[re.Match[str]] | None:
    """The pieces of an entry, remarks in brackets left out; None where something between them is none."""
    bare = re.sub(r"[(\[{][^0-9()\[\]{}]*[)\]}]", lambda remark: " " * len(remark.group()), entry)
    tokens, end = [], 0
    for token in _TOKEN.finditer(bare):
        if bare[end : token.start()].strip():
            return None
        tokens.append(token)
        end = token.end()
    return None if bare[end:].strip() else tokens


def _labelled(numbers: list[Number], labels: list[_Label]) -> bool:
    """Say what numbers are by the words beside them; False where a word has no number of its own."""
    before = any(one.closes for one in labels)
    for one in labels:
        parted = one.at < len(numbers) and numbers[one.at].joined not in {" ", ":", "="} and not one.joined
        sides = (one.at - 1, one.at) if parted or (before and not one.joined) else (one.at, one.at - 1)
        place = next((p for p in sides if 0 <= p < len(numbers) and numbers[p].role is None), None)
        if place is None:
            return False
        numbers[place] = replace(numbers[place], role=one.role)
    return True
