"""A pasted stack taken apart: lines, commas, numbered lists and tables into one entry after another."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from optimiser.files.shim_words import plain

LONGEST_TEXT: Final = 20_000
"""Of a pasted stack; real ones have some hundreds. [characters]"""

LONGEST_LINE: Final = 2000
"""Of it; all entries of a long stack fit into one. [characters]"""

_SIZE: Final = r"[0-9]{0,3}[.,]?[0-9]{1,4}(?:mm)?[x*/][0-9]{0,2}[.,]?[0-9]{1,5}(?:mm)?"
_ENTRY: Final = re.compile(
    rf"(?:[0-9]{{1,3}}\s?(?:of|off|pcs|x)\s|[0-9]{{1,3}}[x*])?{_SIZE}"
    r"(?:\s?(?:[x*]\s?[0-9]{1,3}(?![0-9.,]{0,6}\s?[x*/])|[(\[]\s?x?\s?[0-9]{1,3}\s?[)\]]))?"
    r"(?:\shole\s[0-9.]{1,6})?(?=\s|$)"
)
"""A size without spaces with its count, where several stand in a line with nothing between them."""

_NUMBER: Final = re.compile(r"[0-9]+\.[0-9]+|(?<![0-9.,])[0-9]+,[0-9]+(?![0-9.])|(?<=[x*/]),[0-9]+|[0-9]+")
_DECIMAL: Final = re.compile(r"[0-9]*,[0-9]+")
_PLACE: Final = re.compile(
    r"\s*#?(?P<first>[0-9]+)(?:\s*-\s*(?P<last>[0-9]+))?\s*"
    r"(?:[.):]+\s+|(?<=#[0-9])\s+|(?<=#[0-9]{2})\s+)"
)
_BULLET: Final = re.compile(r"^\s*[-*•·]\s+")
_REMARK: Final = re.compile(r"(?:^|\s)(?:#(?![0-9]{1,3}[\s.):]).*|//.*)$")
_BARE: Final = re.compile(r"\s*[(x]*[0-9]*[.,]?[0-9]+\s*(?:mm|in|\")?[)x]*\s*")
_WHOLE: Final = re.compile(r"\s*x?\s*[0-9]+\s*")
_JOINED: Final = re.compile(r"\s(?:\+|&|and|then|plus)\s")
_MORE: Final = re.compile(
    r"\s*(?:(?:hole|id|bore|qty|quantity|count|ring)\b|[0-9]+\s*(?:pcs?|pieces?|off|ea)\s*$)"
)
"""What still belongs to the entry before it, although a comma stands between."""

_HEADS: Final = {
    **dict.fromkeys(("qty", "quantity", "count", "pcs", "pieces"), "{} of"),
    **dict.fromkeys(("od", "outer", "diameter", "dia", "ø", "outer_mm", "od_mm"), "od {}"),
    **dict.fromkeys(("thickness", "thick", "thk", "t", "thickness_mm"), "t {}"),
    **dict.fromkeys(("hole", "id", "bore", "inner", "hole_mm", "id_mm"), "hole {}"),
    **dict.fromkeys(("shim", "shims", "size", "type"), "{}"),
    **dict.fromkeys(("#", "place", "pos"), "#"),
}
"""Heads of a table's columns, and what a cell below them says."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a pasted stack.

    Parameters
    ----------
    line, number : where it stands: the line of the text, the entry of that line; both from 1.
    text : what it says of one size of shim.
    place, last : the place that a numbered list gives it, and the last one of a range; None for none.
    """

    line: int
    number: int
    text: str
    place: int | None = None
    last: int | None = None

    @property
    def where(self) -> str:
        """The place in words."""
        return f"line {self.line}, entry {self.number}"


@dataclass
class _Table:
    """Columns of the table that is being read."""

    sign: str
    heads: list[str] = field(default_factory=list)


def entries_of(text: str) -> Iterator[Entry]:
    """Entries of a pasted stack in order.

    Parameters
    ----------
    text : lines of it; remarks behind ``#`` or ``//``, a title that ends in a colon, rules of tables and the
        frame of a list in a file are passed over.

    Raises
    ------
    ValueError
        Naming the line, when it is too long, a second stack begins, or a table has a row too short.
    """
    if len(text) > LONGEST_TEXT:
        raise ValueError(f"a stack of at most {LONGEST_TEXT} characters, got {len(text)}; is it a stack?")
    begun, table = False, None
    for line, raw in enumerate(text.splitlines(), 1):
        said = _without_frame(_REMARK.sub("", plain(raw)))
        if not re.sub(r"[-|+:=\s]", "", said):
            continue
        if (heads := _heads(said)) is not None:
            table = heads
            continue
        if said.rstrip().endswith(":") and not re.search(r"[0-9]", said):
            if begun:
                raise ValueError(f"line {line}: one stack, got another that begins with {raw.strip()!r}")
            continue
        if len(said) > LONGEST_LINE:
            raise ValueError(
                f"line {line}: at most {LONGEST_LINE} characters, got {len(said)}; is it a stack?"
            )
        texts = [_of_row(said, table, line)] if table is not None else entries_on(said)
        for number, one in enumerate(texts, 1):
            yield _placed(line, number, one)
            begun = True


def entries_on(line: str) -> list[str]:
    """Entries of one line, which no table's head explains.

    Parameters
    ----------
    line : as :func:`optimiser.files.shim_words.plain` leaves it.

    Raises
    ------
    ValueError
        When it is too long.
    """
    if len(line) > LONGEST_LINE:
        raise ValueError(f"a line of at most {LONGEST_LINE} characters, got {len(line)}; is it a stack?")
    for sign in ("|", "\t", ";", ","):
        cells = _cells(line, sign)
        if len(cells) < 2:
            continue
        if len(cells) <= 4 and all(_BARE.fullmatch(cell) for cell in cells):
            return ["  ".join(cells)]
        counts = [bool(_WHOLE.fullmatch(cell)) for cell in cells]
        if counts == [False, True] and "(" not in cells[0]:
            return [f"{cells[0]} ({cells[1].strip()})"]
        if counts == [True, False]:
            return [f"({cells[0].strip()}) {cells[1]}"]
        return [entry for cell in _joined(cells) for entry in entries_on(cell)]
    parts = _JOINED.split(decimal_points(line))
    return [entry for part in parts for entry in _side_by_side(_unquoted(part))]


def _side_by_side(text: str) -> list[str]:
    """Entries that only spaces part: ``20x0.10 x6 18x0.10``; the text itself where they are not plain."""
    found = list(_ENTRY.finditer(text))
    whole = "".join(one.group() for one in found)
    if len(found) > 1 and len(re.sub(r"\s", "", whole)) == len(re.sub(r"\s", "", text)):
        return [one.group() for one in found]
    return [text]


def _cells(line: str, sign: str) -> list[str]:
    """Parts of a line between signs, empty ones left out; a decimal comma parts nothing."""
    text = decimal_points(line) if sign == "," else line
    return [cell for cell in text.split(sign) if cell.strip()]


def decimal_points(line: str) -> str:
    """The line with a point for every decimal comma."""
    return _NUMBER.sub(
        lambda one: one.group().replace(",", ".") if _DECIMAL.fullmatch(one.group()) else one.group(), line
    )


def _joined(cells: Sequence[str]) -> list[str]:
    """Cells, with what still belongs to the one before put behind it."""
    entries: list[str] = []
    for cell in cells:
        if entries and _MORE.match(cell):
            entries[-1] += f" {cell}"
        else:
            entries.append(cell)
    return entries


def _without_frame(line: str) -> str:
    """A line without the frame of a list in a file: ``shims = [``, the last bracket, a bullet, quotes."""
    line = re.sub(r"^\s*shims\s*=", "", line)
    if line.count("[") != line.count("]") or re.fullmatch(r"\s*\[.*\]\s*,?\s*", line):
        line = re.sub(r"^\s*\[|\]\s*,?\s*$", "", line)
    line = _BULLET.sub("", line, count=1)
    return _unquoted(line) if line.count('"') == 2 else line


def _unquoted(text: str) -> str:
    """An entry without the quotation marks around it; one alone at the end marks inches."""
    bare = text.strip(" \t,;|")
    return bare[1:-1] if len(bare) > 1 and bare[0] == bare[-1] and bare[0] in "\"'" else bare


def _heads(line: str) -> _Table | None:
    """The table that a line of heads begins; None for any other line."""
    if re.search(r"[0-9]", line):
        return None
    sign = next((sign for sign in ("|", "\t", ";", ",") if sign in line), " ")
    words = re.sub(r"[(\[]mm[)\]]", "", line).split(sign if sign != " " else None)
    heads = [" ".join(word.split()) for word in words if word.strip()]
    heads = [head.split(" ")[0] if head.split(" ")[0] in {"outer", "inner"} else head for head in heads]
    if len(heads) < 2 or not all(head in _HEADS for head in heads):
        return None
    return _Table(sign, heads)


def _of_row(line: str, table: _Table, number: int) -> str:
    """The entry that a row of a table with heads comes to."""
    cells = line.split() if table.sign == " " else _cells(line, table.sign)
    if len(cells) != len(table.heads):
        raise ValueError(
            f"line {number}: a row of {len(table.heads)} cells ({', '.join(table.heads)}), got "
            f"{line.strip()!r}"
        )
    said = dict(zip(table.heads, (decimal_points(cell.strip()) for cell in cells), strict=True))
    forms = [(_HEADS[head], cell) for head, cell in said.items()]
    place = "".join(f"{cell}: " for form, cell in forms if form == "#")
    rest = sorted(
        (form.format(cell) for form, cell in forms if form != "#"), key=lambda one: " of" not in one
    )
    return place + " ".join(rest)


def _placed(line: int, number: int, text: str) -> Entry:
    """An entry, parted from the place that a numbered list gives it."""
    bare = _unquoted(text)
    match = _PLACE.match(bare)
    if match is None:
        return Entry(line, number, bare)
    first, last = int(match["first"]), match["last"]
    return Entry(line, number, bare[match.end() :], first, None if last is None else int(last))
