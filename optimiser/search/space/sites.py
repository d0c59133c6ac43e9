"""Where shims may leave and come, parted again and again by what matters most.

A patch is a set of sites, each a shim type at one place of a stack. Patches that lie close together do nearly
the same to the force curve, so one pair of bounds serves them all until it has to be told more exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import groupby
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from optimiser.model.stock import ShimKey

GAP_WEIGHT = 4.0
"""Patches that leave open which packs are held off count for so much more. [-]"""


class Figures(NamedTuple):
    """What a shim adds to a pack.

    Parameters
    ----------
    bending, stretching : stiffness. [N m, N/m]
    give : bending stiffness squared over shear stiffness; gives of a pack's shims add. [N m^3]
    height : thickness. [m]
    """

    bending: float
    stretching: float
    give: float
    height: float


@dataclass(frozen=True, slots=True)
class Site:
    """One shim type at one place.

    Parameters
    ----------
    place : number of the slot.
    stage : run, number of packs that hold the slot off, and whether it holds others off; alike for slots that
        lie behind the same gaps and open gaps alike.
    key : the type.
    figures : what it adds.
    weight : how far it moves the force at the worst velocity, in half-widths of a window, roughly. [-]
    count : most shims of it.
    """

    place: int
    stage: tuple[int, int, int]
    key: ShimKey
    figures: Figures
    weight: float
    count: int


@dataclass(frozen=True, slots=True)
class Span:
    """The sites of a patch in one slot, by their thinnest and their thickest."""

    place: int
    thin: Figures
    thick: Figures


@dataclass(frozen=True)
class Patch:
    """Sites that are looked at together.

    Parameters
    ----------
    sites : the sites, by slot and thickness.
    turns : which half was taken each time, on the way to it from the patch of all sites.
    """

    sites: tuple[Site, ...]
    turns: tuple[int, ...] = field(default=(), compare=False)
    _parts: list[tuple[Patch, Patch]] = field(default_factory=list, compare=False, repr=False)

    @cached_property
    def spans(self) -> tuple[Span, ...]:
        """Slots that it touches, from the piston outwards."""
        return tuple(
            Span(place, members[0].figures, members[-1].figures)
            for place, members in ((p, list(m)) for p, m in groupby(self.sites, key=lambda s: s.place))
        )

    @cached_property
    def rows(self) -> NDArray[np.float64]:
        """Its spans for compiled code (spans, :data:`optimiser.search.kernel.tables.COLUMNS`)."""
        return np.array([(span.place, *span.thin, *span.thick) for span in self.spans], dtype=float)

    @cached_property
    def spread(self) -> float:
        """How differently its sites move the force, in half-widths of a window, roughly. [-]"""
        if len(self.sites) == 1:
            return 0.0
        weights = [site.weight for site in self.sites]
        stages = len({site.stage for site in self.sites})
        spread = max(weights) - min(weights) if stages == 1 else max(weights) * stages
        return spread * (GAP_WEIGHT if self.unsettling else 1.0)

    @cached_property
    def unsettling(self) -> bool:
        """Whether it leaves open which packs a shim holds off: nothing behind it is sure until that is."""
        return len(self.spans) > 1 and any(site.stage[2] for site in self.sites)

    @cached_property
    def thin(self) -> float:
        """Least thickness. [m]"""
        return min(span.thin.height for span in self.spans)

    @cached_property
    def thick(self) -> float:
        """Most thickness. [m]"""
        return max(span.thick.height for span in self.spans)

    @cached_property
    def most(self) -> int:
        """Most shims that it can give or take."""
        return sum(site.count for site in self.sites)

    @property
    def single(self) -> bool:
        """Whether it is one site."""
        return len(self.sites) == 1

    @property
    def parts(self) -> tuple[Patch, Patch]:
        """Two halves that differ more from each other than each in itself."""
        if not self._parts:
            one, two = _parted(self.sites)
            self._parts.append((replace(one, turns=(*self.turns, 0)), replace(two, turns=(*self.turns, 1))))
        return self._parts[0]

    def at(self, turns: Sequence[int]) -> Patch:
        """The patch that so many turns lead to."""
        found = self
        for turn in turns:
            found = found.parts[turn]
        return found


def patch(sites: Sequence[Site]) -> Patch:
    """The patch of some sites."""
    return Patch(tuple(sorted(sites, key=lambda site: (site.place, site.key.thickness))))


def _parted(sites: tuple[Site, ...]) -> tuple[Patch, Patch]:
    """By stage first; then by thickness or by place, whichever makes more of a difference."""
    stages = {site.stage for site in sites}
    if len(stages) > 1:
        loudest = max(sites, key=lambda site: (site.weight, site.place)).stage
        return _halves(sites, lambda site: site.stage == loudest)
    ways: list[tuple[float, int, tuple[Patch, Patch]]] = []
    for figure in (_thickness, _place):
        for low in sorted({figure(site) for site in sites})[:-1]:
            halves = _halves(sites, lambda site, figure=figure, low=low: figure(site) <= low)  # type: ignore[misc]
            ways.append((sum(half.spread * math.sqrt(len(half.sites)) for half in halves), len(ways), halves))
    return min(ways, key=lambda way: way[:2])[2]


def _thickness(site: Site) -> int:
    return site.key.thickness


def _place(site: Site) -> int:
    return site.place


def _halves(sites: Sequence[Site], first: Callable[[Site], bool]) -> tuple[Patch, Patch]:
    return patch([s for s in sites if first(s)]), patch([s for s in sites if not first(s)])
