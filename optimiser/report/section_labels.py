"""Labels beside a section: alike neighbours share one, and none lies on another."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import groupby

from damping_model.stack.stack import Shim
from damping_model.units import MICROMETRE
from optimiser.model.stock import ShimKey


@dataclass(frozen=True, slots=True)
class Label:
    """One line of text beside the drawing.

    Parameters
    ----------
    places : shims it names, 0 at the piston, neighbours all.
    text : places counted from 1 and size.
    css : how it is marked.
    """

    places: tuple[int, ...]
    text: str
    css: str


def labels_of(
    shims: Sequence[Shim], *, put_in: Collection[int], taken_out: Collection[int], clamp_radius: float
) -> tuple[Label, ...]:
    """Labels from the piston outwards; what comes or leaves has one of its own.

    Parameters
    ----------
    shims : from the piston outwards.
    put_in, taken_out : places that are marked.
    clamp_radius : a hole wider than the clamp makes a shim a ring, and its hole is written out. [m]
    """

    def kind(place: int) -> tuple[ShimKey, str]:
        css = "new" if place in put_in else "leaving" if place in taken_out else ""
        return ShimKey.of(shims[place]), css

    labels = []
    for (key, css), group in groupby(range(len(shims)), key=kind):
        places = tuple(group)
        ring = key.inner * MICROMETRE / 2 > clamp_radius + MICROMETRE
        size = f"{key}" + (f" ring, hole {key.inner / 1000:g}" if ring else "")
        count = f"{len(places)} of " if len(places) > 1 else ""
        number = f"{places[0] + 1}" if len(places) == 1 else f"{places[0] + 1}\N{EN DASH}{places[-1] + 1}"
        tail = {"new": "  NEW", "leaving": "  OUT"}.get(css, "")
        labels.append(Label(places, f"{number}:  {count}{size}{tail}", css))
    return tuple(labels)


def spread(wanted: Sequence[float], *, pitch: float, lowest: float, highest: float) -> tuple[float, ...]:
    """Heights on paper for labels, falling, at least a pitch apart, near where they are wanted.

    Parameters
    ----------
    wanted : falling heights on paper, the first the lowest on the page (greatest y).
    pitch : least distance.
    lowest, highest : y of the lowest and of the highest place allowed.
    """
    placed: list[float] = []
    for y in wanted:
        below = placed[-1] - pitch if placed else lowest
        placed.append(min(y, below))
    floor = highest
    for index in range(len(placed) - 1, -1, -1):
        placed[index] = max(placed[index], floor)
        floor = placed[index] + pitch
    return tuple(placed)
