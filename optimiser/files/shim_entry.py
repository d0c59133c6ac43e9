"""What an entry of a stack means: how many shims of which size; two meanings are refused, not chosen from."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from damping_model.units import INCH, MILLIMETRE
from optimiser.files.shim_words import COUNT, HOLE, OUTER, THICKNESS, Number, plain, words_of
from optimiser.model.stock import ShimKey

LEAST_THICKNESS, MOST_THICKNESS = 0.03, 1.0
"""What shims are sold in. [mm]"""

LEAST_DIAMETER, MOST_DIAMETER = 5.0, 60.0
"""What dampers take. [mm]"""

LONGEST_ENTRY: Final = 120
"""Of a text that names one size of shim. [characters]"""

MOST_ALIKE: Final = 200
"""Shims that one entry names."""

_LETTERS: Final = {"C": COUNT, "O": OUTER, "T": THICKNESS, "H": HOLE}
_ORDERS: Final = tuple(
    tuple(_LETTERS[letter] for letter in order)
    for order in (
        *("OT", "TO", "COT", "OTC", "TOC", "HOT", "OHT", "OTH"),
        *("COHT", "CHOT", "COTH", "OHTC", "HOTC", "OTHC", "OTCH"),
    )
)
"""Orders that people write numbers in that no word explains."""

_MM_PER: Final = {"": 1.0, "mm": 1.0, "in": INCH / MILLIMETRE, "thou": INCH / MILLIMETRE / 1000}


@dataclass(frozen=True, slots=True)
class Alike:
    """So many shims of one type.

    Parameters
    ----------
    count : how many.
    key : their type.
    """

    count: int
    key: ShimKey

    def said(self, shaft: float) -> str:
        """The one way of writing it that nobody takes for another; ``shaft`` is the shaft's diameter. [mm]"""
        inner = self.key.inner / 1000
        ring = "" if math.isclose(inner, shaft, abs_tol=1e-3) else f" hole {inner:g}"
        return f"{self.count} of {self.key}{ring}"


def alike_of(entry: str, *, hole_mm: float, typed: str = "") -> Alike:
    """The shims that one entry means.

    Parameters
    ----------
    entry : one entry, decimal commas as points or not.
    hole_mm : the shaft's diameter, which is every shim's hole unless the entry says otherwise. [mm]
    typed : how a person wrote it, to be quoted, where the entry is not that any more.

    Raises
    ------
    ValueError
        Naming what was expected and what was got.
    """
    typed = typed or entry
    if len(entry) > LONGEST_ENTRY:
        raise ValueError(f"a shim like '24x0.20' or '3 of 24x0.20' (mm), got {typed.strip()[:40]!r} and more")
    words = words_of(plain(entry))
    got = f"got {typed.strip()!r}"
    if words is None:
        raise ValueError(f"a shim like '24x0.20' or '3 of 24x0.20' (mm), {got}")
    said = {one.role: one for one in words.numbers if one.role is not None}
    if len(said) < sum(one.role is not None for one in words.numbers):
        raise ValueError(f"one count, one diameter, one thickness and one hole at most, {got}")
    if (count := said.get(COUNT)) is not None:
        _whole(count, typed)
    free = [one for one in words.numbers if one.role not in {COUNT, HOLE}]
    read = [
        (_made(order, free, said, hole_mm, ring=words.ring), _sets_count_apart(order, free))
        for order in _orders(free, said, ring=words.ring)
    ]
    good = {made: apart for made, apart in sorted(read, key=lambda one: one[1]) if made is not None}
    apart = [made for made, evident in good.items() if evident]
    chosen = apart if len(good) > 1 and len(apart) == 1 else list(good)
    if len(chosen) > 1:
        ways = [made.said(hole_mm) for made in chosen]
        raise ValueError(f"one meaning, {got}; write {' or '.join(map(repr, ways))}")
    if not chosen:
        raise ValueError(_why_none(free, said, typed, hole_mm, ring=words.ring))
    if words.ring and chosen[0].key.inner <= round(hole_mm * 1000):
        raise ValueError(f"a ring with its hole, wider than the shaft, like '18x0.30 hole 15', {got}")
    return chosen[0]


def _orders(free: Sequence[Number], said: dict[str, Number], *, ring: bool) -> Iterator[tuple[str, ...]]:
    """Orders that the numbers may stand in, as far as words leave that open."""
    signs = [one.joined for one in free[1:]]
    if "-" in signs and set(signs) != {"-"}:  # '6 - 20x0.10' may be a place or a count
        return
    for order in _ORDERS:
        if len(order) != len(free) or said.keys() & {COUNT, HOLE} & set(order):
            continue
        size = {order.index(OUTER), order.index(THICKNESS)}
        sized = max(size) - min(size) > 1 or free[max(size)].joined not in {":", "="}
        if (
            sized
            and (not ring or HOLE in order or HOLE in said)
            and all(one.role in {None, role} for one, role in zip(free, order, strict=True))
        ):
            yield order


def _sets_count_apart(order: tuple[str, ...], free: Sequence[Number]) -> bool:
    """Whether the count stands apart from the size: wider spaced, or joined by another sign."""
    if COUNT not in order:
        return False
    gaps = [(one.joined, one.apart) for one in free[1:]]
    own = gaps.pop(0) if order[0] == COUNT else gaps.pop(order.index(COUNT) - 1)
    widest = max(apart for _, apart in gaps)
    return own[1] > widest or (own[1] == widest and own[0] not in {sign for sign, _ in gaps})


def _made(
    order: tuple[str, ...], free: Sequence[Number], said: dict[str, Number], shaft: float, *, ring: bool
) -> Alike | None:
    """The shims that numbers in an order come to; None where no shim is like that."""
    of = {**said, **dict(zip(order, free, strict=True))}
    inches = any(one.unit in {"in", "thou"} for one in of.values())
    outer = _millimetres(of[OUTER], LEAST_DIAMETER, MOST_DIAMETER, inches=inches)
    thickness = _millimetres(of[THICKNESS], LEAST_THICKNESS, MOST_THICKNESS, inches=inches)
    if outer is None or thickness is None:
        return None
    hole: float | None = shaft
    if HOLE in of:
        hole = _millimetres(of[HOLE], 1.0, outer, inches=inches)
    count = of.get(COUNT)
    if hole is None or hole >= outer or not (count is None or _is_count(count)):
        return None
    if HOLE in order and not math.isclose(hole, shaft, abs_tol=1e-3):
        behind_rim = order.index(HOLE) == order.index(OUTER) + 1  # only there is a ring's hole without a word
        if hole < shaft or not (ring or behind_rim):
            return None
    return Alike(
        1 if count is None else int(count.text),
        ShimKey.from_millimetres(outer=outer, thickness=thickness, inner=hole),
    )


def _millimetres(number: Number, least: float, most: float, *, inches: bool) -> float | None:
    """A length; one without a unit beside one in inches is in whichever of the two it can be. [mm]"""
    value = float(number.text)
    units = ("", "in") if inches and not number.unit else (number.unit,)
    lengths = [value * _MM_PER[unit] for unit in units]
    return next((length for length in lengths if least <= length <= most), None)


def _is_count(number: Number) -> bool:
    return number.text.isdecimal() and not number.unit and 1 <= int(number.text) <= MOST_ALIKE


def _whole(count: Number, entry: str) -> None:
    if not _is_count(count):
        raise ValueError(
            f"a whole number of shims from 1 to {MOST_ALIKE}, got {count.text!r} in {entry.strip()!r}"
        )


def _why_none(
    free: Sequence[Number], said: dict[str, Number], entry: str, shaft: float, *, ring: bool
) -> str:
    """What is wrong with an entry that no shim is like."""
    got = entry.strip()
    if len(free) != 2 or free[1].joined in {":", "="}:
        return f"a shim like '24x0.20' or '3 of 24x0.20' (mm), got {got!r}"
    if ring and HOLE not in said:
        return f"a ring with its hole, wider than the shaft, like '18x0.30 hole 15', got {got!r}"
    turned = free[0].role == THICKNESS or free[1].role == OUTER
    outer, thickness = (free[1], free[0]) if turned else (free[0], free[1])
    inches = any(one.unit in {"in", "thou"} for one in free)
    for number, what, least, most in (
        (outer, "diameter", LEAST_DIAMETER, MOST_DIAMETER),
        (thickness, "thickness", LEAST_THICKNESS, MOST_THICKNESS),
    ):
        if _millimetres(number, least, most, inches=inches) is None:
            return f"a {what} from {least:g} to {most:g} mm, got {_shown(number)} in {got!r}" + _hint(
                number, least, most
            )
    rim = float(outer.text) * _MM_PER[outer.unit]
    hole = said.get(HOLE)
    inner = shaft if hole is None else float(hole.text) * _MM_PER[hole.unit]
    if inner >= rim:
        return f"a hole smaller than the rim, got {got!r} with a hole of {inner:g} mm"
    return f"a hole from 1 mm to the rim, got {inner:g} in {got!r}"


def _shown(number: Number) -> str:
    return f"{number.text} {number.unit}".rstrip()


def _hint(number: Number, least: float, most: float) -> str:
    """What was perhaps meant: a decimal point left out, or inches."""
    value = float(number.text)
    near = [value / factor for factor in (100, 1000) if least <= value / factor <= most]
    if near and not number.unit:
        return "".join(f"; did you mean {one:g}?" for one in near)
    if not number.unit and least <= value * _MM_PER["in"] <= most:
        return f"; inches are read where they are marked, as in '{number.text} in'"
    return ""
