"""How a stack is written, from the piston outwards: in a file, as ``"3 of 24x0.20"``, or as people paste it.

A shim is its outer diameter and thickness in mm, ``3 of`` in front when there are several alike, ``hole 17``
behind when the hole is not the shaft's, which makes it a ring. Other ways of writing are read where they have
one meaning: ``20x.1 x6``, ``(6) 20 × 0,10``, ``0.787" x 0.004"``, numbered lists, tables.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import Final

from optimiser.files.shim_entry import Alike, alike_of
from optimiser.files.shim_words import plain
from optimiser.files.stack_lines import Entry, entries_of, entries_on
from optimiser.model.stock import ShimKey

MOST_SHIMS: Final = 200
"""Shims of one stack; the largest known have some forty."""

MOST_RUNS: Final = 40
"""Times that another size follows in a stack: each is a plate of its own, which the model takes time over."""

_NONE: Final = "at least one shim; a stack without shims closes no port. List them from the piston outwards"


def shims_from_lines(lines: Sequence[str], *, hole_mm: float) -> tuple[ShimKey, ...]:
    """The shims that the lines of a stack name, from the piston outwards.

    Parameters
    ----------
    lines : as they stand in the file.
    hole_mm : the shaft's diameter, which is every shim's hole unless its line says otherwise. [mm]

    Raises
    ------
    ValueError
        Naming the line, what was got and what was expected; a file's model adds the place.
    """
    if not lines:
        raise ValueError(_NONE)

    def found() -> Iterator[tuple[str, Alike]]:
        for line in lines:
            entries = entries_on(plain(line)) or [line]
            for entry in entries:
                yield line, alike_of(entry, hole_mm=hole_mm, typed=line if len(entries) == 1 else "")

    return _stacked(found())


def shims_from_text(text: str, *, hole_mm: float) -> tuple[ShimKey, ...]:
    """The shims of a stack as a person typed or pasted it, from the piston outwards.

    Parameters
    ----------
    text : of any number of lines; commas, semicolons, tabs, numbered lists, tables and remarks are read.
    hole_mm : the shaft's diameter, which is every shim's hole unless the text says otherwise. [mm]

    Raises
    ------
    ValueError
        Naming line and entry, what was got and what was expected.
    """
    entries = list(entries_of(text))
    if not entries:
        raise ValueError(_NONE)

    def found() -> Iterator[tuple[str, Alike]]:
        lies = 0
        for number, entry in enumerate(entries, 1):
            try:
                alike = alike_of(entry.text, hole_mm=hole_mm)
                _refuse_other_places(entry, number, lies, alike, hole_mm)
            except ValueError as error:
                raise ValueError(f"{entry.where}: {error}") from None
            lies += alike.count
            yield entry.text, alike

    _refuse_counted_list(entries)
    return _stacked(found())


def _stacked(found: Iterable[tuple[str, Alike]]) -> tuple[ShimKey, ...]:
    """The shims one after another, as many as a stack may have."""
    shims: list[ShimKey] = []
    for line, alike in found:
        shims.extend([alike.key] * alike.count)
        if len(shims) > MOST_SHIMS:
            raise ValueError(f"at most {MOST_SHIMS} shims in a stack, got {len(shims)} up to {line[:40]!r}")
    runs = sum(1 for _ in groupby(shims))
    if runs > MOST_RUNS:
        raise ValueError(
            f"a stack in which another size follows at most {MOST_RUNS} times, got {runs}; is it one stack?"
        )
    return tuple(shims)


def _refuse_other_places(entry: Entry, number: int, lies: int, alike: Alike, shaft: float) -> None:
    """Refuse a number in front of an entry that is no place: it may be meant as a count.

    Parameters
    ----------
    entry : with the place that it says.
    number : which entry of the stack it is, from 1.
    lies : shims of the stack before it.
    alike : what it names.
    shaft : diameter of the shaft. [mm]
    """
    if entry.place is None:
        return
    by_shim = entry.place == lies + 1 and entry.last in {None, lies + alike.count}
    if by_shim or (entry.place == number and entry.last is None):
        return
    said = Alike(entry.place, alike.key).said(shaft) if alike.count == 1 else alike.said(shaft)
    raise ValueError(
        f"places that count 1, 2, 3, got {entry.place} in front of {entry.text!r}; "
        f"if that is how many there are, write {said!r}"
    )


def _refuse_counted_list(entries: Sequence[Entry]) -> None:
    """Refuse ``(1) 20x0.10``, ``(2) 18x0.10``: places of a list, or counts."""
    fronts = [re.match(r"\s*[(\[]\s*([0-9]+)\s*[)\]]", entry.text) for entry in entries]
    counted = [None if front is None else int(front[1]) for front in fronts]
    if len(entries) > 1 and counted == list(range(1, len(entries) + 1)):
        raise ValueError(
            f"{entries[1].where}: one meaning, got {entries[1].text!r}, where (1) and (2) may be places or "
            "counts; write '2 of' for a count and '2.' for a place"
        )


def lines_from_shims(shims: Iterable[ShimKey], *, hole: int) -> list[str]:
    """Write shims as :func:`shims_from_lines` reads them; ``hole`` is the shaft's diameter. [um]"""
    lines = []
    for key, alike in groupby(shims):
        count = len(list(alike))
        ring = "" if key.inner == hole else f" hole {key.inner / 1000:g}"
        lines.append((f"{count} of " if count > 1 else "") + f"{key}{ring}")
    return lines
