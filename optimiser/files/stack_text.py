"""How a stack is written in a file: ``"3 of 24x0.20"``, from the piston outwards.

A line is a shim's outer diameter and thickness in mm, ``3 of`` in front when there are several alike,
``hole 17`` behind when the hole is not the shaft's, which makes it a ring.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Final

from optimiser.model.stock import ShimKey

LEAST_THICKNESS, MOST_THICKNESS = 0.03, 1.0
"""What shims are sold in. [mm]"""

LEAST_DIAMETER, MOST_DIAMETER = 5.0, 60.0
"""What dampers take. [mm]"""

MOST_ALIKE: Final = 200
"""Shims that one line names."""

MOST_SHIMS: Final = 200
"""Shims of one stack; the largest known have some forty."""

MOST_RUNS: Final = 40
"""Times that another size follows in a stack: each is a plate of its own, which the model takes time over."""

_LINE: Final = re.compile(
    r"^\s*(?:(?P<count>[^\sxX]+)\s+of\s+)?(?P<outer>[^\sxX]+)\s*[xX]\s*(?P<thickness>[^\sxX]+)"
    r"(?:\s+hole\s+(?P<hole>\S+))?\s*$"
)


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
        raise ValueError(
            "at least one shim; a stack without shims closes no port. List them from the piston outwards"
        )
    shims: list[ShimKey] = []
    for line in lines:
        shims.extend(_alike(line, hole_mm=hole_mm))
        if len(shims) > MOST_SHIMS:
            raise ValueError(f"at most {MOST_SHIMS} shims in a stack, got {len(shims)} up to {line[:40]!r}")
    runs = sum(1 for _ in groupby(shims))
    if runs > MOST_RUNS:
        raise ValueError(
            f"a stack in which another size follows at most {MOST_RUNS} times, got {runs}; is it one stack?"
        )
    return tuple(shims)


def lines_from_shims(shims: Iterable[ShimKey], *, hole: int) -> list[str]:
    """Write shims as :func:`shims_from_lines` reads them; ``hole`` is the shaft's diameter. [um]"""
    lines = []
    for key, alike in groupby(shims):
        count = len(list(alike))
        ring = "" if key.inner == hole else f" hole {key.inner / 1000:g}"
        lines.append((f"{count} of " if count > 1 else "") + f"{key}{ring}")
    return lines


def _alike(line: str, *, hole_mm: float) -> list[ShimKey]:
    match = _LINE.match(line)
    if match is None:
        raise ValueError(f"a shim like '24x0.20' or '3 of 24x0.20' (mm), got {line!r}")
    count = _whole(match["count"] or "1", line)
    outer = _number(match["outer"], line, "diameter", LEAST_DIAMETER, MOST_DIAMETER)
    thickness = _number(match["thickness"], line, "thickness", LEAST_THICKNESS, MOST_THICKNESS)
    hole = _number(match["hole"], line, "hole", 1.0, outer) if match["hole"] else hole_mm
    if hole >= outer:
        raise ValueError(f"a hole smaller than the rim, got {line!r} with a hole of {hole:g} mm")
    return [ShimKey.from_millimetres(outer=outer, thickness=thickness, inner=hole)] * count


def _whole(text: str, line: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= MOST_ALIKE:
        raise ValueError(f"a whole number of shims from 1 to {MOST_ALIKE}, got {text!r} in {line!r}")
    return int(text)


def _number(text: str, line: str, what: str, least: float, most: float) -> float:
    try:
        value = float(text)
    except ValueError:
        raise ValueError(f"a {what} in mm, got {text!r} in {line!r}") from None
    if not (math.isfinite(value) and least <= value <= most):
        hint = "".join(
            f"; did you mean {value / factor:g}?" for factor in (100, 1000) if least <= value / factor <= most
        )
        raise ValueError(f"a {what} from {least:g} to {most:g} mm, got {text} in {line!r}{hint}")
    return value
