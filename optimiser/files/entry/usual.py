"""What a kind says is usual, as the parts that an answer would have, and in words."""

from __future__ import annotations

from typing import Any

from optimiser.files.entry.oil_words import oil_parts
from optimiser.files.entry.part import Part
from optimiser.files.entry.readings import Parts, clicker_parts, ring_parts, stack_parts, travel_parts

USUAL_CLICKS = (12, 6)
"""Of a clicker that nobody has counted yet: all of them, and where it stands."""


def usual_parts(reads: str, value: Any, *, off: float, hole: float) -> Parts:
    """The parts of a usual value.

    Parameters
    ----------
    reads : how an answer would be read.
    value : as the kind has it, formulas worked out.
    off : how far off it may be. [%]
    hole : of a stack's shims. [mm]
    """
    if reads in {"words", "name"}:
        return {"": Part("new" if value is None else value)}
    if reads == "stack":
        return stack_parts(value, hole)
    if reads == "ring":
        return ring_parts(*value, off=off)
    if reads == "ports":
        return {"count": Part(value[0], off), "area": Part(value[1], off)}
    if reads == "holes":
        return {"count": Part(value[0], off), "diameter": Part(value[1], off)}
    if reads == "clicker":
        return clicker_parts(*USUAL_CLICKS, closed=value[0], opened=value[1], off=off)
    if reads == "oil":
        return oil_parts(float(value), off=off)
    return _of_machine(reads, value, off)


def _of_machine(reads: str, value: Any, off: float) -> Parts:
    if reads == "travels":
        return travel_parts(value, off=off)
    if reads == "loads":
        return {"front": Part(value, off), "rear": Part(round(1 - value, 3), off)}
    return {"": Part(value, off)}


def part_words(reads: str, parts: Parts) -> str:
    """The parts of an answer in words, in the units of the files."""
    values = {name: part.value for name, part in parts.items()}
    if reads == "ring":
        return f"{values['inner']:g} to {values['outer']:g} mm"
    if reads == "ports":
        return f"{values['count']} ports of {values['area']:g} mm² together"
    if reads == "oil":
        return f"{values['viscosity']['40']:g} cSt at 40 °C"
    if reads == "travels":
        return f"{values['wheel']:g} mm at the wheel for {values['shaft']:g} mm at the shaft"
    if reads == "loads":
        return f"{100 * values['front']:g} % of the load in front"
    unit = {"length": " mm", "weight": " kg", "pressure": " bar"}.get(reads, "")
    return f"{values['']:g}{unit}"
