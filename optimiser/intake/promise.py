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
from optimiser.model.percent import percent_text

AnyBand = TypeVar("AnyBand", bound=Band)

Change = tuple[float, float]
"""Largest fall and largest rise, as shares of the force as it is. [-]"""

NO_CHANGE: Final[Change] = (0.0, 0.0)

Boils = Callable[[Stroke, float, float, Change], Sequence[Boiling]]
"""Where oil boils in a stroke between a slowest and a fastest speed [m/s], with the stack as it is or with a
force changed through it."""

MARGIN: Final = 0.98
"""Share of the velocity where oil would boil at which a band ends, so that it ends before. [-]"""

SHORTEST: Final = 1.2
"""Least ratio of a band's fastest to its slowest velocity; what is left of a shorter one says nothing. [-]"""

MOST_ROOM: Final = 0.1
"""Most that a band leaves for its own tolerance before it ends, as a share of the force. [-]"""

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


def nothing_boils(
    stroke: Stroke,  # noqa: ARG001
    low: float,  # noqa: ARG001
    high: float,  # noqa: ARG001
    change: Change,  # noqa: ARG001
) -> Sequence[Boiling]:
    """Figures are promised at every velocity."""
    return ()


def within_promise(bands: Sequence[AnyBand], boils: Boils) -> tuple[tuple[AnyBand, ...], tuple[str, ...]]:
    """The longest part of each band in which no oil boils, and a sentence for each that is not whole.

    A held band leaves its force the room that its tolerance gives, and a target the wanted shift, or else a
    change that is allowed would boil at the band's end. Where that leaves too little, the band goes as far
    as the stack as it is allows.

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
        change = _change(band)
        found = boils(band.stroke, band.low, band.high, change)
        if not found:
            kept.append(band)
            continue
        now = boils(band.stroke, band.low, band.high, NO_CHANGE)
        words = "; ".join(boiling_words(one, to=band.high) for one in now)
        low, high = _longest(band, found)
        if high >= low * SHORTEST:
            words = "; ".join(filter(None, [words, _with_change(found, change, to=band.high)]))
        elif not now:
            kept.append(band)
            continue
        else:
            low, high = _longest(band, now)
        if high >= low * SHORTEST:
            kept.append(replace(band, low=low, high=high))
            part = "ends" if low == band.low else f"begins at {low:.2g} and ends"
            ends = f"{band.label} {part} at {high:.2g} m/s"
            said.append(f"{ends}: {words}, and no figure can be promised there.")
        elif isinstance(band, TargetBand):
            raise BeyondPromiseError(_remedy_first(band, now, remedy_words(found)))
        else:
            said.append(f"{band.label} is not judged: {words}.")
    return tuple(kept), tuple(said)


def _change(band: Band) -> Change:
    """How far the force of a band may fall and rise before the next limit, as shares of it."""
    if not isinstance(band, TargetBand):
        return -min(band.tolerance, MOST_ROOM), min(band.tolerance, MOST_ROOM)
    shift = band.shift or 0.0
    return min(shift, 0.0), max(shift, 0.0)


def _longest(band: Band, found: Sequence[Boiling]) -> tuple[float, float]:
    return max(_calm(band, found), key=lambda part: part[1] / part[0])


def _with_change(found: Sequence[Boiling], change: Change, *, to: float) -> str:
    """Where oil would boil once the force is changed, where that differs from how it is."""
    fall, rise = change
    if not fall and not rise:
        return ""
    how = " or ".join(f"{percent_text(share, 0)}" for share in (fall, rise) if share)
    where = "; ".join(boiling_words(one, to=to) for one in found)
    return f"with {how} of force from the stack, {where}"


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


def _remedy_first(band: TargetBand, found: Sequence[Boiling], remedy: str) -> BasicsFinding:
    where = "; ".join(boiling_words(one, to=band.high) for one in found)
    return BasicsFinding(
        what=f"oil that boils in {band.stroke}",
        got=f"{where} with the stack as it is",
        expected=f"none that boils from {band.low:.2g} to {band.high:.2g} m/s, where {band.label} is to move",
        do_this=remedy,
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
