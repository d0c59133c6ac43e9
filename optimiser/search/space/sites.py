"""Where shims may leave and come: sites, and the patches that branching parts them into.

A site is a shim type at one place of a stack, and a patch a set of sites. Sites that lie close together do
nearly the same to the force curve, so one relaxation serves them all until a tighter bound is needed.
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

GAP_FACTOR = 4.0
"""Patches that leave open which packs are held off count for so much more. [-]"""


class PlateProperties(NamedTuple):
    """What a shim adds to a pack.

    Parameters
    ----------
    bending, stretching : stiffness. [N m, N/m]
    shear_compliance : bending stiffness squared over shear stiffness; those of a pack's
        shims add. [N m^3]
    height : thickness. [m]
    """

    bending: float
    stretching: float
    shear_compliance: float
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
    properties : what it adds.
    effect : how far it moves the force at the worst velocity, in half-widths of a window, estimated. [-]
    count : most shims of it.
    """

    place: int
    stage: tuple[int, int, int]
    key: ShimKey
    properties: PlateProperties
    effect: float
    count: int


@dataclass(frozen=True, slots=True)
class Span:
    """The sites of a patch in one slot, by their thinnest and their thickest."""

    place: int
    thin: PlateProperties
    thick: PlateProperties


@dataclass(frozen=True)
class Patch:
    """Sites that are looked at together.

    Parameters
    ----------
    sites : the sites, by slot and thickness.
    path : which half was taken at each branching, on the way to it from the patch of all sites.
    """

    sites: tuple[Site, ...]
    path: tuple[int, ...] = field(default=(), compare=False)
    _parts: list[tuple[Patch, Patch]] = field(default_factory=list, compare=False, repr=False)
    _only: dict[int, Patch] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def spans(self) -> tuple[Span, ...]:
        """Slots that it touches, from the piston outwards."""
        return tuple(
            Span(place, members[0].properties, members[-1].properties)
            for place, members in ((p, list(m)) for p, m in groupby(self.sites, key=lambda s: s.place))
        )

    @cached_property
    def rows(self) -> NDArray[np.float64]:
        """Its spans as an array for compiled code (spans, :data:`optimiser.search.kernel.tables.COLUMNS`)."""
        return np.array([(span.place, *span.thin, *span.thick) for span in self.spans], dtype=float)

    @cached_property
    def outers(self) -> frozenset[int]:
        """Diameters of its shims. [um]"""
        return frozenset(site.key.outer for site in self.sites)

    @cached_property
    def spread(self) -> float:
        """How differently its sites move the force, in half-widths of a window, estimated. [-]"""
        if len(self.sites) == 1:
            return 0.0
        effects = [site.effect for site in self.sites]
        stages = len({site.stage for site in self.sites})
        spread = max(effects) - min(effects) if stages == 1 else max(effects) * stages
        return spread * (GAP_FACTOR if self.unsettling else 1.0)

    @cached_property
    def unsettling(self) -> bool:
        """Whether it leaves open which packs a shim holds off, so that bounds behind it are loose."""
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
            self._parts.append((replace(one, path=(*self.path, 0)), replace(two, path=(*self.path, 1))))
        return self._parts[0]

    def only(self, site: Site) -> Patch:
        """The patch of one of its sites."""
        if self.single:
            return self
        if id(site) not in self._only:
            one, two = self.parts
            self._only[id(site)] = (one if any(own is site for own in one.sites) else two).only(site)
        return self._only[id(site)]

    def at(self, path: Sequence[int]) -> Patch:
        """The patch that a branching path leads to."""
        found = self
        for half in path:
            found = found.parts[half]
        return found


def patch(sites: Sequence[Site]) -> Patch:
    """The patch of some sites."""
    return Patch(tuple(sorted(sites, key=lambda site: (site.place, site.key.thickness))))


def _parted(sites: tuple[Site, ...]) -> tuple[Patch, Patch]:
    """By stage first; then by thickness or by place, whichever makes more of a difference."""
    stages = {site.stage for site in sites}
    if len(stages) > 1:
        loudest = max(sites, key=lambda site: (site.effect, site.place)).stage
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
    return Patch(tuple(s for s in sites if first(s))), Patch(tuple(s for s in sites if not first(s)))
