"""Where oil boils no figure is promised: bands that nobody gave in numbers leave that out, and say so."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Final, TypeVar

from damping_model.damper.boiling import Boiling
from damping_model.units import BAR
from optimiser.errors import InputError
from optimiser.intake.bands import Band, Stroke, TargetBand
from optimiser.intake.basics import BasicsFinding

AnyBand = TypeVar("AnyBand", bound=Band)

Boils = Callable[[Stroke, float, float], Sequence[Boiling]]
"""Where oil boils in a stroke between a slowest and a fastest speed [m/s] with the stack as it is."""

MARGIN: Final = 0.98
"""Share of the velocity where oil would boil at which a band ends, so that it ends before. [-]"""

SHORTEST: Final = 1.2
"""Least ratio of a band's fastest to its slowest velocity; what is left of a shorter one says nothing. [-]"""

GAS_STEP: Final = 0.1 * BAR
"""Gas pressures are named to this step, rounded up. [Pa]"""


class BeyondPromiseError(InputError):
    """A target lies wholly where oil would boil: something else comes first.

    Parameters
    ----------
    finding : what, with figures and remedy.
    """

    def __init__(self, finding: BasicsFinding) -> None:
        super().__init__(f"{finding.got}, expected {finding.expected}. {finding.do_this} {finding.why}")
        self.finding = finding


def nothing_boils(stroke: Stroke, low: float, high: float) -> Sequence[Boiling]:  # noqa: ARG001
    """Figures are promised at every velocity."""
    return ()


def within_promise(bands: Sequence[AnyBand], boils: Boils) -> tuple[tuple[AnyBand, ...], tuple[str, ...]]:
    """The longest part of each band in which no oil boils, and a sentence for each that is not whole.

    Parameters
    ----------
    bands : from words or by default.
    boils : where oil boils.

    Raises
    ------
    BeyondPromiseError
        When nothing worth judging is left of a target.
    """
    kept: list[AnyBand] = []
    said: list[str] = []
    for band in bands:
        found = boils(band.stroke, band.low, band.high)
        if not found:
            kept.append(band)
            continue
        low, high = max(_calm(band, found), key=lambda part: part[1] / part[0])
        where = "; ".join(boiling_words(one, to=band.high) for one in found)
        if high >= low * SHORTEST:
            kept.append(replace(band, low=low, high=high))
            part = "ends" if low == band.low else f"begins at {low:.2g} and ends"
            ends = f"{band.label} {part} at {high:.2g} m/s"
            said.append(f"{ends}: {where}, and no figure can be promised there.")
        elif isinstance(band, TargetBand):
            raise BeyondPromiseError(_remedy_first(band, found))
        else:
            said.append(f"{band.label} is not judged: {where}.")
    return tuple(kept), tuple(said)


def boiling_words(one: Boiling, *, to: float) -> str:
    """Where oil boils, and in which chamber; ``to`` is the fastest speed that was looked at. [m/s]"""
    ends = "on" if one.fastest >= to else f"to {one.fastest:.2g} m/s"
    return f"from {one.slowest:.2g} m/s {ends} the oil in '{one.chamber}' would boil in {_stroke(one)}"


def remedy_words(found: Sequence[Boiling]) -> str:
    """What keeps oil from boiling: gas pressure, or other resistance on the way to the chamber."""
    worst = max(found, key=lambda one: one.gas_needed)
    needed = math.ceil(worst.gas_needed / GAS_STEP) * GAS_STEP
    now = f"gauge; {worst.gas_pressure / BAR:.1f} bar now"
    ways = [f"at least {needed / BAR:.1f} bar of gas ({now}), if the maker's manual allows it"]
    if worst.fed_through:
        ways.append(f"less resistance to the oil that fills '{worst.chamber}', in {_then(worst.fed_through)}")
    if worst.held_up_by:
        ways.append(f"more resistance in {_then(worst.held_up_by)}, which holds its pressure up")
    return f"Give it {'; or '.join(ways)}."


def _then(names: Sequence[str]) -> str:
    return ", then ".join(f"'{name}'" for name in names)


def _remedy_first(band: TargetBand, found: Sequence[Boiling]) -> BasicsFinding:
    where = "; ".join(boiling_words(one, to=band.high) for one in found)
    return BasicsFinding(
        what=f"oil that boils in {band.stroke}",
        got=f"{where} with the stack as it is",
        expected=f"none that boils from {band.low:.2g} to {band.high:.2g} m/s, where {band.label} is to move",
        do_this=remedy_words(found),
        why="Where oil boils, a chamber is empty for a part of the stroke: no stack puts that right, and no "
        "figure can be promised.",
        may_override=False,
    )


def _calm(band: Band, found: Sequence[Boiling]) -> list[tuple[float, float]]:
    """Stretches of a band in which no oil boils, each a little shorter on the sides where it would."""
    edges = [(0.0, band.low)]
    edges += [
        (MARGIN * one.slowest if one.slowest > band.low else band.low, one.fastest / MARGIN) for one in found
    ]
    edges.append((band.high, math.inf))
    return [(behind, max(ahead, behind)) for (_, behind), (ahead, _) in pairwise(edges)]


def _stroke(one: Boiling) -> str:
    return "compression" if one.sign > 0 else "rebound"
