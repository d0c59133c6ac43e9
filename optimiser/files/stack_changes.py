"""Changes of a stack as they are said, ``out 20x0.10, in 18x0.15``, or as a plan lists them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from optimiser.files.shim_entry import LONGEST_ENTRY, Alike, alike_of
from optimiser.files.shim_words import plain
from optimiser.files.stack_lines import LONGEST_TEXT, decimal_points
from optimiser.model.stock import ShimKey

_ORDER: Final = r"\(\s*(?P<place>[0-9]{1,3})\s*(?:st|nd|rd|th)\s*\)"
_PART: Final = re.compile(rf"\s*(?P<way>take out|put in|out|in)\s*(?P<shim>.*?[0-9])\s*(?:{_ORDER})?\s*")
_BEHIND: Final = re.compile(rf"\s*(?P<shim>.*?[0-9])\s*(?:{_ORDER})?\s+(?P<way>out)\s*")
_SWAP: Final = re.compile(rf"\s*(?P<shim>.*?[0-9])\s+(?:to|for)\s+(?P<other>.*?[0-9])\s*(?:{_ORDER})?\s*")
_MOVE: Final = re.compile(
    r"\s*move\s+(?P<shim>.*?[0-9])\s*\(\s*(?P<place>[0-9]{1,3})\w\w\s+to\s+(?P<other>[0-9]{1,3})\w\w\s*\)\s*"
)


@dataclass(frozen=True, slots=True)
class _Said:
    """Shims that leave, or come.

    Parameters
    ----------
    text : as it was said.
    key, count : which, and how many.
    comes : whether they come.
    place : from the piston, from 1, in the old stack of what leaves, in the new of what comes; None where it
        was not said.
    near : a place near which they lie where the place itself was not said.
    instead : what comes in their place, in the place of what leaves; None for nothing.
    """

    text: str
    key: ShimKey
    count: int
    comes: bool
    place: int | None
    near: int | None = None
    instead: Alike | None = None


def says_changes(text: str) -> bool:
    """Whether a text says what to change in a stack, and not a whole stack."""
    parts = _parts(text[:LONGEST_TEXT])
    return bool(parts) and all(
        len(part) <= LONGEST_ENTRY and any(form.fullmatch(part) for form in (_PART, _BEHIND, _SWAP, _MOVE))
        for part in parts
    )


def changed_stack(text: str, old: Sequence[ShimKey], *, hole_mm: float) -> tuple[ShimKey, ...]:
    """The stack that changes lead to.

    Parameters
    ----------
    text : parts between commas, such as ``out 20x0.10``, ``in 2 of 18x0.10``, ``in 17x0.10 (7th)``,
        ``17x0.20 to 17x0.25``; places count from the piston, of what leaves in the old stack, of what comes
        in the new one.
    old : the stack as it is, from the piston outwards.
    hole_mm : the shaft's diameter. [mm]

    Raises
    ------
    ValueError
        Naming the part, what was got and what was expected: a shim that does not lie there, or a place that
        has to be said because there are several.
    """
    said = [one for part in _parts(text) for one in _said(part, hole_mm)]
    left: list[ShimKey | None] = list(old)
    instead: dict[int, list[ShimKey]] = {}
    leaving = [one for one in said if not one.comes]
    for one in sorted(leaving, key=lambda one: one.place is None):  # the others find what those leave
        places = _leaving(one, left)
        for place in places:
            left[place] = None
        if one.instead is not None:
            at = places[0]
            while one.instead.key.outer > one.key.outer and at and old[at - 1] == one.key:
                at -= 1  # a wider one goes in front of those that stay
            instead[at] = [one.instead.key] * one.instead.count
    made = [
        key
        for place, stays in enumerate(left)
        for key in (*instead.get(place, ()), *(() if stays is None else (stays,)))
    ]
    coming = [one for one in said if one.comes]
    for one in sorted(coming, key=lambda one: -1 if one.place is None else one.place):
        if one.place is not None and one.place - 1 > len(made):
            raise ValueError(
                f"{one.text!r}: a place from 1 to {len(made) + 1} in the new stack, got {one.place}"
            )
        at = _coming(one, made) if one.place is None else one.place - 1
        made[at:at] = [one.key] * one.count
    return tuple(made)


def _parts(text: str) -> list[str]:
    return [part for part in re.split(r"[,;\n]|\band\b", decimal_points(plain(text))) if part.strip()]


def _said(part: str, hole_mm: float) -> list[_Said]:
    """What one part says leaves and comes."""

    def shims(words: str, place: str | None, *, comes: bool, near: str | None = None) -> _Said:
        alike = alike_of(words, hole_mm=hole_mm)
        numbers = [None if one is None else int(one) for one in (place, near)]
        return _Said(part.strip(), alike.key, alike.count, comes, numbers[0], numbers[1])

    if move := _MOVE.fullmatch(part):
        out = shims(move["shim"], move["place"], comes=False)
        return [out, shims(move["shim"], move["other"], comes=True)]
    if match := _PART.fullmatch(part) or _BEHIND.fullmatch(part):
        return [shims(match["shim"], match["place"], comes=match["way"] in {"in", "put in"})]
    swap = _SWAP.fullmatch(part)
    if swap is None:
        raise ValueError(
            f"a change like 'out 20x0.10', 'in 18x0.15' or '17x0.20 to 17x0.25', got {part.strip()!r}"
        )
    if swap["place"] is None:
        out = shims(swap["shim"], None, comes=False)
        return [replace(out, instead=alike_of(swap["other"], hole_mm=hole_mm))]
    out = shims(swap["shim"], None, comes=False, near=swap["place"])
    return [out, shims(swap["other"], swap["place"], comes=True)]


def _leaving(one: _Said, left: Sequence[ShimKey | None]) -> list[int]:
    """Places of the shims that leave: of alike neighbours the last ones."""
    if one.place is not None:
        places = list(range(one.place - 1, one.place - 1 + one.count))
        if places[-1] >= len(left) or any(left[place] != one.key for place in places):
            raise ValueError(
                f"{one.text!r}: {one.key} at place {one.place} of the old stack, got another shim"
            )
        return places
    runs = _runs(one.key, left)
    if not runs:
        raise ValueError(f"{one.text!r}: a shim of the stack, got {one.key}, which does not lie in it")
    if len(runs) > 1 and one.near is None:
        raise ValueError(
            f"{one.text!r}: a place, since {one.key} lies in {_several(runs)}; write "
            f"'out {one.key} ({_nth(runs[0][0] + 1)})'"
        )
    near = one.near or 0
    run = min(runs, key=lambda run: min(abs(place + 1 - near) for place in run))
    if len(run) < one.count:
        raise ValueError(f"{one.text!r}: at most {len(run)} to take out, got {one.count}")
    return run[-one.count :]


def _coming(one: _Said, made: Sequence[ShimKey]) -> int:
    """Where shims come that nobody said the place of: behind their like, else where the diameters fall."""
    alike = _runs(one.key, made)
    packs = alike or _runs(one.key.outer, [key.outer for key in made])
    if len(packs) > 1:
        raise ValueError(
            f"{one.text!r}: a place, since shims like it lie in {_several(packs)}; write "
            f"'in {one.key} ({_nth(packs[0][-1] + 2)})'"
        )
    if packs:
        return packs[0][-1] + 1
    falls = [place for place in range(len(made) + 1) if _falls(one.key, made, place)]
    if len(falls) != 1:
        raise ValueError(
            f"{one.text!r}: a place in the new stack, got none; write 'in {one.key} (7th)', from the piston"
        )
    return falls[0]


def _falls(key: ShimKey, made: Sequence[ShimKey], place: int) -> bool:
    """Whether a shim at a place is smaller than the one before it and wider than all behind it."""
    before = bool(place) and made[place - 1].outer > key.outer
    return before and all(behind.outer < key.outer for behind in made[place:])


def _runs(wanted: object, among: Sequence[object]) -> list[list[int]]:
    """Neighbours that are what is wanted, each run by its places."""
    runs: list[list[int]] = []
    for place, one in enumerate(among):
        if one == wanted:
            if runs and runs[-1][-1] == place - 1:
                runs[-1].append(place)
            else:
                runs.append([place])
    return runs


def _several(runs: Sequence[Sequence[int]]) -> str:
    return " and ".join(
        f"place {run[0] + 1}" if len(run) == 1 else f"places {run[0] + 1}-{run[-1] + 1}" for run in runs
    )


def _nth(number: int) -> str:
    ending = "th" if 10 <= number % 100 <= 20 else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"
