"""What one answer about a rider, a machine or a damper says, as the parts that a file is filled with.

Every way of reading takes what a person wrote and gives named parts in the units of the files. A part that
the answer cannot settle, as the thickness of an oil that is only called by its weight, says how far off it
may be.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from optimiser.errors import InputError
from optimiser.files.entry.oil_words import oil_of
from optimiser.files.entry.part import Part
from optimiser.files.part_sense import disc
from optimiser.files.shim_entry import alike_of
from optimiser.files.stack_lines import entries_of
from optimiser.files.stack_text import lines_from_shims, shims_from_lines, shims_from_text
from optimiser.intake.answer_checks import words
from optimiser.intake.quantities import LENGTH, MASS, PRESSURE, RATE, Quantity, read, read_all
from optimiser.model.stock import ShimKey

LONGEST_NAME: Final = 60
"""Of a file's name there is as much. [characters]"""

MOST_CLICKS: Final = 99

MOST_HOLES: Final = 40
"""Ports or bleeds of one valve."""


@dataclass(frozen=True, slots=True)
class Beside:
    """What a reading may look at besides the answer.

    Parameters
    ----------
    usual : what the kind says is usual.
    hole : diameter of the hole of shims; 0 where none are read. [mm]
    off : how far off the usual may be. [%]
    """

    usual: Any = None
    hole: float = 0.0
    off: float = 0.0


Parts = Mapping[str, Part]
"""By name; the one without a name stands for the whole answer."""


def parts_of(kind: str, text: str, asked: Beside) -> Parts:
    """The parts of an answer.

    Parameters
    ----------
    kind : one of :data:`READINGS`.
    text : the answer.
    asked : what else the reading may look at.

    Raises
    ------
    InputError
        Saying what was expected.
    """
    return READINGS[kind](text, asked)


def stack_parts(lines: Sequence[str], hole: float) -> Parts:
    """A stack as a file has it, with what its shims say about the place: face, clamp and height. [mm]"""
    return _of_shims(shims_from_lines(lines, hole_mm=hole), hole)


def _of_shims(shims: Sequence[ShimKey], hole: float) -> Parts:
    return {
        "": Part(lines_from_shims(shims, hole=round(hole * 1000))),
        "face": Part(shims[0].outer / 1000),
        "clamp": Part(shims[-1].outer / 1000),
        "height": Part(round(sum(shim.thickness for shim in shims) / 1000, 3)),
    }


def ring_parts(inner: float, outer: float, *, off: float | None = None) -> Parts:
    """The ring that ports lie on, from one diameter to the other. [mm], [mm²]"""
    return {
        "inner": Part(inner, off),
        "outer": Part(outer, off),
        "area": Part(disc(outer) - disc(inner), off),
    }


def clicker_parts(most: int, at: int, *, closed: float, opened: float, off: float) -> Parts:
    """A needle: its clicks are counted, its open area is what is usual, every click the same share more."""
    if closed > 0:
        areas = [closed * (opened / closed) ** (click / most) for click in range(most + 1)]
    else:
        areas = [opened * click / most for click in range(most + 1)]
    return {"areas": Part([float(f"{area:.3g}") for area in areas], off), "at": Part(at)}


def each_shim(text: str, *, hole: float) -> list[ShimKey]:
    """Every shim that a text names, whatever stack or drawer it belongs to; the hole in mm.

    Raises
    ------
    InputError
        Naming the entry that cannot be read.
    """
    try:
        found = [alike_of(entry.text, hole_mm=hole) for entry in entries_of(text)]
    except ValueError as error:
        raise _in_words(error) from None
    return [alike.key for alike in found for _ in range(alike.count)]


def _in_words(error: ValueError) -> InputError:
    """What a reader of stacks says, as an answer to a question is refused."""
    where, between, what = str(error).rpartition(": ")
    return InputError(f"{where}{between}expected {what}" + ("" if what.endswith("?") else "."))


def _words(text: str, _: Beside) -> Parts:
    return {"": Part(words(text))}


def _name(text: str, _: Beside) -> Parts:
    said = words(text)
    if len(said) > LONGEST_NAME or not re.search(r"[^\W_]", said):
        raise InputError(f"got {said[:80]!r}, expected a name of letters or figures, {LONGEST_NAME} at most.")
    return {"": Part(said)}


def _measured(quantity: Quantity) -> Callable[[str, Beside], Parts]:
    return lambda text, _: {"": Part(read(text, quantity))}


def _whole(text: str, _: Beside) -> Parts:
    if not text.strip().isdecimal():
        raise InputError(f"got {text!r}, expected a whole number.")
    return {"": Part(int(text))}


def _stack(text: str, asked: Beside) -> Parts:
    try:
        return _of_shims(shims_from_text(text, hole_mm=asked.hole), asked.hole)
    except ValueError as error:
        raise _in_words(error) from None


def _ring(text: str, _: Beside) -> Parts:
    inner, outer = read_all(text, LENGTH, count=2)
    if not 0 < inner < outer:
        raise InputError(
            f"got {text!r}, expected the ports' inner edge first, then their outer edge, like 10 to 15 mm."
        )
    return ring_parts(inner, outer)


def _ports(text: str, _: Beside) -> Parts:
    match = re.fullmatch(
        r"\s*(\d+)\s*(?:(?:round\s+)?(?:holes?|ports?|slots?)\s*)?(?:of|x|×|,)?\s+(.+)", text, re.IGNORECASE
    )
    if match is None or not 1 <= int(match[1]) <= MOST_HOLES:
        raise InputError(
            f"got {text!r}, expected how many and how wide, like 4 of 3.8 mm; or 3 of 3 x 7 mm for slots."
        )
    count, sizes = int(match[1]), re.split(r"\s*[x×]\s*", match[2].strip())
    widths = (read(sizes[0], LENGTH),) if len(sizes) == 1 else read_all(" x ".join(sizes), LENGTH, count=2)
    narrow, long = min(widths), max(widths)
    if narrow <= 0:
        raise InputError(f"got {text!r}, expected ports wider than nothing, like 4 of 3.8 mm.")
    # A slot is a round hole pulled apart: its ends are half circles.
    area = count * (disc(narrow) + narrow * (long - narrow))
    return {"count": Part(count), "area": Part(float(f"{area:.4g}"))}


def _holes(text: str, _: Beside) -> Parts:
    match = re.fullmatch(
        r"\s*(?:(\d+)\s*(?:holes?|notch(?:es)?)?\s*(?:of|x|×)\s+)?(\S.*)", text, re.IGNORECASE
    )
    width = read(match[2], LENGTH) if match is not None else 0.0
    count = int(match[1] or 1) if match is not None else 0
    if not (width > 0 and 1 <= count <= MOST_HOLES):
        raise InputError(f"got {text!r}, expected how many holes and how wide, like 1 of 0.7 mm; or none.")
    return {"count": Part(count), "diameter": Part(width)}


def _clicker(text: str, asked: Beside) -> Parts:
    found = [int(one) for one in re.findall(r"\d+", text)]
    if len(found) != 2 or not 0 <= min(found) <= max(found) <= MOST_CLICKS or max(found) < 1:
        raise InputError(
            f"got {text!r}, expected all its clicks and where it stands, counted out from closed, like "
            f"'12 clicks, 6 out'; at most {MOST_CLICKS}. Count a needle without clicks in quarter turns."
        )
    closed, opened = asked.usual
    return clicker_parts(max(found), min(found), closed=closed, opened=opened, off=asked.off)


def _spring(text: str, _: Beside) -> Parts:
    try:
        return {"": Part({"rate_n_mm": read(text, RATE)})}
    except InputError:
        pass
    try:
        return {"": Part({"pressure_bar": read(text, PRESSURE)})}
    except InputError:
        raise InputError(
            f"got {text!r}, expected a coil's rate like {RATE.example}, or an air spring's pressure like "
            f"{PRESSURE.example}."
        ) from None


def _loads(text: str, _: Beside) -> Parts:
    front, rear = read_all(text, MASS, count=2)
    if not (front > 0 and rear > 0):
        raise InputError(
            f"got {text!r}, expected what the scale shows in front and at the rear, both above 0."
        )
    share = round(front / (front + rear), 3)
    return {"front": Part(share), "rear": Part(round(1 - share, 3))}


def _travels(text: str, _: Beside) -> Parts:
    pairs: list[list[float]] = [[0.0, 0.0]]
    unit = re.search(r"(in|inch|inches|cm|mm)\s*$", text.strip(), re.IGNORECASE)
    for piece in re.split(r"\s*[;,](?=\s|$)\s*", text.strip().removesuffix(unit[0] if unit else "")):
        figures = piece.replace("/", " ").split()
        if len(figures) != 2:
            raise InputError(
                f"got {piece!r}, expected wheel travel and shaft travel in pairs, like "
                "'40 14, 80 29.5, 140 55'; one pair, the whole travel, will do."
            )
        wheel, shaft = (read(one + (f" {unit[1]}" if unit else ""), LENGTH) for one in figures)
        if wheel > 0 and not (wheel > pairs[-1][0] and shaft > pairs[-1][1]):
            raise InputError(
                f"got {piece!r} behind {pairs[-1]}, expected both travels to grow from pair to pair."
            )
        if wheel > 0:
            pairs.append([wheel, shaft])
    if len(pairs) < 2:
        raise InputError(f"got {text!r}, expected at least the whole travel of wheel and shaft, like 140 55.")
    return travel_parts(pairs)


def travel_parts(pairs: Sequence[Sequence[float]], *, off: float | None = None) -> Parts:
    """Wheel and shaft travel in pairs, with the whole of both. [mm]"""
    return {
        "": Part([list(pair) for pair in pairs], off),
        "wheel": Part(pairs[-1][0], off),
        "shaft": Part(pairs[-1][1], off),
    }


def _oil(text: str, _: Beside) -> Parts:
    return oil_of(text)


READINGS: Final[Mapping[str, Callable[[str, Beside], Parts]]] = {
    "words": _words,
    "name": _name,
    "length": _measured(LENGTH),
    "weight": _measured(MASS),
    "pressure": _measured(PRESSURE),
    "whole number": _whole,
    "stack": _stack,
    "ring": _ring,
    "ports": _ports,
    "holes": _holes,
    "clicker": _clicker,
    "spring": _spring,
    "loads": _loads,
    "travels": _travels,
    "oil": _oil,
}
"""Every way of reading an answer, by the name that a kind calls it."""
